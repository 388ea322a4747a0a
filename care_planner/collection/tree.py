"""One tree, or a tray of young plants: its facts and its goal."""

from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Field, model_validator

from care_planner.collection.branches import (
    Branch,
    CuttingBatch,
    Variety,
    branch_mistakes,
    cutting_mistakes,
)
from care_planner.typed_yaml.models import (
    Day,
    Label,
    Mistake,
    Number,
    Season,
    Share,
    Slug,
    Strict,
    Text,
    Whole,
    YesNo,
    unfit,
    wrong,
)

Goal = Literal["flowers", "vigour", "balanced"]
AGES = ("young", "established")
CONDITIONS = ("strong", "weak")


def _age(value: object) -> object:
    if isinstance(value, str) and value.strip() in CONDITIONS:
        raise unfit("which is a condition", f"allowed: {', '.join(AGES)}")
    return value


def _condition(value: object) -> object:
    if isinstance(value, str) and value.strip() in AGES:
        raise unfit("which is an age", f"allowed: {', '.join(CONDITIONS)}")
    return value


Age = Annotated[Literal["young", "established"], BeforeValidator(_age)]
Condition = Annotated[Literal["strong", "weak"], BeforeValidator(_condition)]


class Pot(Strict):
    """The container."""

    litres: Number | None = Field(default=None, gt=0, le=10_000)
    depth_cm: Number | None = Field(default=None, gt=0, le=300)
    width_cm: Number | None = Field(default=None, gt=0, le=500, description="across its mouth")
    soil: Literal["granules", "peat"] | None = Field(
        default=None, description="granules such as akadama or pumice, or a mix of peat or bark"
    )


class LastRepot(Strict):
    """The last root work known."""

    date: Day
    roots_removed: Share | None = Field(
        default=None, description="part of the roots taken off, 0 to 1 or a percentage"
    )
    tied_in: YesNo | None = Field(default=None, description="whether the tree is tied into its pot")


class Until(Strict):
    """The tree has left; its entries stay as history."""

    date: Day
    why: Literal["sold", "lent", "dead", "given-away"]


class Tree(Strict):
    """A tree. None means "not told": a rule that needs the fact asks for it."""

    id: Slug = Field(description="names the tree in the journal, in file names and in the calendar")
    taxon: Slug = Field(description="a taxon that a rule pack describes")
    bench: Label = Field(description="the bench it stands on")
    winter_bench: Label | None = Field(
        default=None, description="the bench it stands on from shelter to bring-out"
    )
    name: Text | None = Field(default=None, description="free text, shown to people")
    goal: Goal | dict[Season, Goal] = Field(
        default="balanced", description="one goal, or a goal for each season named"
    )
    age: Age | None = None
    condition: Condition | None = None
    size: Literal["small", "large"] = "small"
    count: Whole = Field(default=1, ge=1, le=100_000, description="plants in one tray")
    pot: Pot | None = None
    crown_cm: Number | None = Field(
        default=None, gt=0, le=2000, description="how wide the crown is, seen from above"
    )
    acquired: Day | None = None
    known_from: Day | None = Field(
        default=None, description="before this day silence does not mean missed work"
    )
    last_repot: LastRepot | None = None
    repot_every_years: Number | None = Field(default=None, gt=0, le=50)
    season_of_variety: Literal["early", "mid", "late"] | None = None
    remembered_bloom: dict[Season, Day] = Field(
        default_factory=dict, description="season: the day in the middle of its bloom"
    )
    learn: YesNo = Field(
        default=True, description="no: its pace stays its taxon's, and its notes teach nothing of others"
    )
    frost_limit_c: Number | None = Field(
        default=None, ge=-40, le=15, description="the grower's own limit, degC"
    )
    refined: YesNo | None = None
    multicoloured: YesNo | None = None
    wired: YesNo | None = None
    variety: Variety | None = None
    branches: tuple[Branch, ...] = Field(default=(), description="the tree's branches, one to a tag")
    cuttings: tuple[CuttingBatch, ...] = Field(default=(), description="batches taken from this tree")
    until: Until | None = None

    def __hash__(self) -> int:
        return hash(self.id)

    def goal_in(self, season: int) -> str:
        """The goal of a season; balanced where goals are given by season and this one has none."""
        return self.goal if isinstance(self.goal, str) else self.goal.get(season, "balanced")

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        found = [
            *self._dates_out_of_order(),
            *branch_mistakes(self.branches),
            *cutting_mistakes(self.cuttings, self.branches),
        ]
        if found:
            raise wrong(*found)
        return self

    def _dates_out_of_order(self) -> list[Mistake]:
        found = []
        if self.acquired and self.known_from and self.known_from < self.acquired:
            what = f"known_from is {self.known_from}, before the tree was acquired on {self.acquired}"
            found.append(Mistake(what, "allowed: that day or later", ("known_from",)))
        last = self.until.date if self.until else None
        others = {
            "acquired": self.acquired,
            "known_from": self.known_from,
            "last_repot": self.last_repot and self.last_repot.date,
        }
        found += [
            Mistake(f"{key} is {day}, after the tree left on {last}", "allowed: that day or earlier", (key,))
            for key, day in others.items()
            if day and last and day > last
        ]
        return found
