"""What the engine knows of one tree, apart from its name: twins are planned once."""

from dataclasses import dataclass

from care_planner.rulebook.taxon import Taxon
from care_planner.windows.facts import NOT_TOLD


@dataclass(frozen=True)
class TreeFacts:
    """Facts of a tree. None where nobody told; days are ordinals; `goals` are those of the steps -2 to 2."""

    taxon: str
    bench: str
    winter_bench: str | None
    goals: tuple[str, ...]
    age: str | None = None
    condition: str | None = None
    size: str = "small"
    refined: bool | None = None
    multicoloured: bool | None = None
    wired: bool | None = None
    frost_limit_c: float | None = None
    season_of_variety: str | None = None
    repot_every_years: float | None = None
    last_repot: int | None = None
    acquired: int | None = None
    count: int = 1  # plants in one tray
    known_from: int | None = None
    until: int | None = None
    learns: bool = True
    remembered: tuple[tuple[int, int], ...] = ()  # (season, the day in the middle of its bloom)
    days_off: tuple[tuple[int, int], ...] = ()  # first and last days of spans without work on it

    def goal(self, step: int) -> str:
        """The goal in the season at a step."""
        return self.goals[min(max(step + 2, 0), len(self.goals) - 1)]

    def told(self, fact: str) -> str:
        """A fact as the rulebook's conditions name it."""
        value = getattr(self, fact)
        if isinstance(value, bool):
            return "yes" if value else "no"
        return value if value is not None else NOT_TOLD

    def repot_years(self, taxon: Taxon) -> float | None:
        """Years between two root prunings; None where neither they nor the age were told."""
        if self.repot_every_years is not None:
            return self.repot_every_years
        if self.age is None:
            return None
        every = taxon.repot_every_years
        return every.young if self.age == "young" else every.established

    def frost_limit(self, taxon: Taxon, roots_worked: bool) -> float:
        """The air temperature (degC) it must not stand outside under; the grower's own limit wins."""
        if self.frost_limit_c is not None:
            return self.frost_limit_c
        limits = taxon.frost_limit_c
        # An age that nobody told may be a young tree's: the more careful limit holds.
        own = limits.hardened if self.age == "established" else max(limits.young, limits.hardened)
        return max(limits.roots_worked, own) if roots_worked else own
