"""What a person should be told beside the dates, as facts: of which kind, of which trees and seasons."""

from dataclasses import dataclass

from care_planner.windows.reason import Reason
from care_planner.years.reasons import State


@dataclass(frozen=True, slots=True)
class Notice:
    """What to tell, of which trees and seasons; of all trees and of no season where they are empty.

    `hangs` is what missing the works that hang on it costs a tree, in the units of `levelling.COSTS`.
    """

    what: Reason
    seasons: tuple[int, ...] = ()
    trees: tuple[str, ...] = ()
    hangs: float = 0.0

    @property
    def weight(self) -> float:
        """What hangs on it for all its trees."""
        return self.hangs * max(1, len(self.trees))


@dataclass(frozen=True, slots=True)
class AgeNotTold(Reason):
    """The shelter goes by a young tree's frost limit."""


@dataclass(frozen=True, slots=True)
class FactNeeded(Reason):
    """A fact that nobody told, and the works that ask for it, by their short names."""

    why: Reason | None
    works: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WeatherNeeded(Reason):
    """A work whose weather is not known."""

    work: str
    why: Reason | None


@dataclass(frozen=True, slots=True)
class NobodyThere(Reason):
    """A work in whose window everyone is away."""

    work: str
    why: Reason | None


@dataclass(frozen=True, slots=True)
class GivenUp(Reason):
    """A choice that the goal has made: the share of weather years that need it, and the pack's reason."""

    work: str
    share: float
    why: str


@dataclass(frozen=True, slots=True)
class ChoiceMade(Reason):
    """What the goal makes of a work without room."""

    work: str
    parts: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class DoneTooLate(Reason):
    """A work done after its last day (ordinals), and what the pack says of that, if anything."""

    work: str
    done: int
    last: int
    says: str


@dataclass(frozen=True, slots=True)
class LateCosts(Reason):
    """What the day of a work, done or planned, costs: a share (0 to 1) of what the pack names."""

    work: str
    state: State
    day: int
    share: float
    of: str


@dataclass(frozen=True, slots=True)
class AskedByEye(Reason):
    """A work that the grower decides on, and why."""

    work: str
    why: Reason | None


@dataclass(frozen=True, slots=True)
class WhereTo(Reason):
    """A tree that has to go in for the winter, and nobody told where to; its limit (degC)."""

    limit_c: float


@dataclass(frozen=True, slots=True)
class NoOwnWorks(Reason):
    """A taxon whose pack holds stages only."""

    taxon: str


@dataclass(frozen=True, slots=True)
class StillWeak(Reason):
    """A tree noted as weak on a day of a season gone by."""

    day: int


@dataclass(frozen=True, slots=True)
class WasSkipped(Reason):
    """A work noted as left undone, and what the pack says it costs."""

    work: str
    costs: str


@dataclass(frozen=True, slots=True)
class LateRootChoice:
    """A choice that late root work leaves; `decides` where the tree's goal takes it."""

    decides: bool
    goals: tuple[str, ...]
    says: str
    costs: str


@dataclass(frozen=True, slots=True)
class AfterLateRoots(Reason):
    """A work that late root work stands against, with its median days (inf or nan: none)."""

    work: str
    roots: str
    done: int
    opens: float
    closes: float
    choices: tuple[LateRootChoice, ...]
