"""What a rule asks of a tree in a season."""

from typing import Literal

from care_planner.rulebook.taxon import Name
from care_planner.typed_yaml.read_yaml import Strict

Goal = Literal["flowers", "vigour", "balanced"]
Told = Literal["yes", "no", "not-told"]
FACTS = (
    "goal",
    "age",
    "condition",
    "size",
    "buds",
    "bloom",
    "repot",
    "roots_worked",
    "roots_worked_last_season",
    "winter_bench",
    "refined",
    "multicoloured",
    "wired",
    "cut_last_season",
    "noted",
)


class Condition(Strict):
    """Facts of a tree in a season. Every fact given must have one of the values listed.

    A fact nobody told makes the answer unknown, unless `not-told` is among its values.
    """

    goal: list[Goal] | None = None
    age: list[Literal["young", "established", "not-told"]] | None = None
    condition: list[Literal["strong", "weak", "not-told"]] | None = None
    size: list[Literal["small", "large"]] | None = None
    buds: list[Literal["present", "none"]] | None = None
    bloom: list[Literal["expected", "none"]] | None = None
    repot: list[Literal["due", "not-due", "not-told"]] | None = None
    roots_worked: list[Literal["yes", "no"]] | None = None
    roots_worked_last_season: list[Literal["yes", "no"]] | None = None
    cut_last_season: list[Literal["yes", "no"]] | None = None
    winter_bench: list[Literal["yes", "no"]] | None = None
    refined: list[Told] | None = None
    multicoloured: list[Told] | None = None
    wired: list[Told] | None = None
    noted: list[Name] | None = None

    def given(self) -> dict[str, list[str]]:
        """The facts this condition asks about, with the values it accepts."""
        return {fact: getattr(self, fact) for fact in FACTS if getattr(self, fact) is not None}
