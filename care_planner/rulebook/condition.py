"""What a rule asks of a tree in a season.

`Condition` is the one table of facts: each with its values and its words. A new one needs a line here and its
value for a tree in `all_facts` (`years/state.py`); what packs may ask, their schema, the table of rules, the
reasons and the questions follow from it.
"""

from typing import Annotated, Literal, NamedTuple

from care_planner.rulebook.taxon import Name
from care_planner.typed_yaml.read_yaml import Strict

Goal = Literal["flowers", "vigour", "balanced"]
Told = Literal["yes", "no", "not-told"]


class Fact(NamedTuple):
    """How a fact is said. `as_told`: by the name of what a person writes it under; `said`: (value, sentence)
    where name and value are no sentence."""

    words: str
    said: tuple[tuple[str, str], ...] = ()
    as_told: str = ""


_REPOT = Fact(
    "repot", (("due", "repot is due"), ("not-due", "repot is not due")), as_told="its last repot or its age"
)
_ROOTS = Fact(
    "roots_worked this season",
    (("yes", "there was root work this season"), ("no", "there was no root work this season")),
)
_ROOTS_BEFORE = Fact(
    "roots_worked last season",
    (("yes", "there was root work last season"), ("no", "there was no root work last season")),
)
_NEW_HERE = Fact(
    "new_here",
    (("yes", "it came this season"), ("no", "it did not come this season")),
)
_CUT_BEFORE = Fact(
    "cut_last_season", (("yes", "it was cut last season"), ("no", "it was not cut last season"))
)
_WINTER = Fact("winter place", (("yes", "it has a winter place"), ("no", "it has no winter place")))
_REFINED = Fact(
    "refined", (("yes", "it is refined"), ("no", "it is not refined yet")), as_told="whether it is refined"
)
_COLOURS = Fact(
    "multicoloured",
    (("yes", "it flowers in several colours"), ("no", "it flowers in one colour")),
    as_told="whether it flowers in several colours",
)
_WIRED = Fact("wired", (("yes", "it is wired"), ("no", "it is not wired")), as_told="whether it is wired")
_BUDS = Fact("flower buds", (("present", "it carries flower buds"), ("none", "it carries no flower buds")))
_BLOOM = Fact(
    "bloom",
    (("expected", "flowers are expected this season"), ("none", "no flowers are expected this season")),
)


class Condition(Strict):
    """Facts of a tree in a season. Every fact given must have one of the values listed.

    A fact nobody told makes the answer unknown, unless `not-told` is among its values.
    """

    # In this order they are looked at: the first that differs is the reason given.
    goal: Annotated[list[Goal] | None, Fact("the goal")] = None
    age: Annotated[list[Literal["young", "established", "not-told"]] | None, Fact("the age")] = None
    condition: Annotated[list[Literal["strong", "weak", "not-told"]] | None, Fact("the condition")] = None
    size: Annotated[list[Literal["small", "large"]] | None, Fact("the size")] = None
    buds: Annotated[list[Literal["present", "none"]] | None, _BUDS] = None
    bloom: Annotated[list[Literal["expected", "none"]] | None, _BLOOM] = None
    repot: Annotated[list[Literal["due", "not-due", "not-told"]] | None, _REPOT] = None
    roots_worked: Annotated[list[Literal["yes", "no"]] | None, _ROOTS] = None
    roots_worked_last_season: Annotated[list[Literal["yes", "no"]] | None, _ROOTS_BEFORE] = None
    winter_bench: Annotated[list[Literal["yes", "no"]] | None, _WINTER] = None
    refined: Annotated[list[Told] | None, _REFINED] = None
    multicoloured: Annotated[list[Told] | None, _COLOURS] = None
    wired: Annotated[list[Told] | None, _WIRED] = None
    cut_last_season: Annotated[list[Literal["yes", "no"]] | None, _CUT_BEFORE] = None
    new_here: Annotated[list[Literal["yes", "no"]] | None, _NEW_HERE] = None  # acquired in this season
    noted: Annotated[list[Name] | None, Fact("noted")] = None

    def given(self) -> dict[str, list[str]]:
        """The facts this condition asks about, with the values it accepts."""
        return {fact: getattr(self, fact) for fact in FACTS if getattr(self, fact) is not None}


FACTS: dict[str, Fact] = {
    name: next(part for part in field.metadata if isinstance(part, Fact))
    for name, field in Condition.model_fields.items()
}
