"""What a work changes, and what a goal does instead of it."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from care_planner.rulebook.condition import Goal
from care_planner.rulebook.moment import SeasonName
from care_planner.rulebook.taxon import Name
from care_planner.typed_yaml.models import Whole, YesNo
from care_planner.typed_yaml.read_yaml import Strict


class Facts(Strict):
    """Facts that a work sets."""

    buds: Literal["none"] | None = None
    bloom: Literal["none"] | None = None


class Shift(Strict):
    """Sets later stages of the season back by so many days."""

    stages: Annotated[list[Name], Field(min_length=1)]
    days: Annotated[Whole, Field(ge=1, le=120)]


class Effect(Strict):
    """What a work changes: facts of a season, later stages, shoots, the bench.

    With `if_late` only where it was done after its window had closed.
    """

    season: SeasonName = "this"
    if_late: YesNo = False
    set: Facts | None = None
    sets_back: Shift | None = None
    cuts_shoots: YesNo = False
    ends_stage: Name | None = None
    moves_to: Literal["bench", "winter-bench"] | None = None

    @model_validator(mode="after")
    def _one(self) -> "Effect":
        given = [self.set is not None, self.sets_back is not None, self.cuts_shoots]
        given += [self.ends_stage is not None, self.moves_to is not None]
        if sum(given) != 1:
            raise ValueError("an effect does one thing: set, sets_back, cuts_shoots, ends_stage or moves_to")
        return self


class NoRoom(Strict):
    """The choice for a goal where the window closes before it opens in most members."""

    goal: Annotated[list[Goal], Field(min_length=1)]
    says: str
    costs: str
    work: Literal["none", "before-it-closes", "after-it-opens"] = "none"
    title: str | None = None
    lasts_days: Annotated[Whole, Field(ge=1, le=60)] = 14
    effects: list[Effect] = []


class Instead(Strict):
    """What a goal does instead of the work, and what that costs."""

    goal: Annotated[list[Goal], Field(min_length=1)]
    says: str
    costs: str
