"""The links of a task's chain of reasons, from its day back to the rule, the stages and the weather.

Each is a frozen dataclass with ordinals, shares and ids, made once; texts in it are a pack's own.
"""

from dataclasses import dataclass
from typing import Literal

from care_planner.rulebook.moment import Moment
from care_planner.windows.reason import Reason
from care_planner.years.common import WeatherBehind
from care_planner.years.reasons import OtherWork


@dataclass(frozen=True, slots=True)
class PlainWords(Reason):
    """What another room says in its own words."""

    text: str


@dataclass(frozen=True, slots=True)
class DayChosen(Reason):
    """The day, and why that one of the window."""

    day: int
    aim: Reason


@dataclass(frozen=True, slots=True)
class DoneOn(Reason):
    """A note says that it was done on a day."""

    day: int


@dataclass(frozen=True, slots=True)
class NoRoomIn(Reason):
    """There is room between opening and close in this share of the weather years only."""

    share: float


@dataclass(frozen=True, slots=True)
class GoalDecides(Reason):
    """The choice of the tree's goal."""

    says: str
    costs: str


@dataclass(frozen=True, slots=True)
class OtherGoal(Reason):
    """What other goals would choose."""

    goals: tuple[str, ...]
    says: str
    costs: str


@dataclass(frozen=True, slots=True)
class RuleWhy(Reason):
    """Why the pack has the rule."""

    text: str


@dataclass(frozen=True, slots=True)
class ForFacts(Reason):
    """What people told of the tree that makes the work its own: (fact, value)."""

    facts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class ColdNights(Reason):
    """The limit (degC) of a tree on its bench, and the days by which such a night has come in a tenth and in
    half of the autumns; None where it does not. `bench_to` is where it goes, empty where nobody told."""

    limit_c: float
    bench: str
    in_ten: int | None
    in_two: int | None
    bench_to: str


@dataclass(frozen=True, slots=True)
class HotMonths(Reason):
    """The share of the weather years with a spell of so many days at a limit (degC), by month (1 to 12)."""

    limit_c: float
    days: int
    months: tuple[tuple[int, float], ...]


@dataclass(frozen=True, slots=True)
class CostsShare(Reason):
    """What the day costs: a share (0 to 1) of what the pack names."""

    share: float
    of: str


@dataclass(frozen=True, slots=True)
class OnlyIf(Reason):
    """It is right only if another work was done (or was not), of which no note tells."""

    work: str
    title: str
    done: bool


@dataclass(frozen=True, slots=True)
class WindowEnds(Reason):
    """Between which moments; only so many `days` of them, beside one end, where a choice says so."""

    opens: Moment | None
    closes: Moment | None
    days: int | None = None


@dataclass(frozen=True, slots=True)
class RestsAfter(Reason):
    """So many days of rest after other works."""

    days: int
    works: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Needs(Reason):
    """What the pack says the work needs."""

    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Forbids(Reason):
    """What the pack says the work does not go with."""

    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RuleSource(Reason):
    """The rule, its pack, whether the grower's own rules changed it, and its source."""

    rule: str
    pack: str
    changed: bool
    source: str


@dataclass(frozen=True, slots=True)
class StageDates(Reason):
    """A stage in a season: seen, or expected on a day with its 10 and 90 % days (inf: never).

    `reached` is the share of weather years that reach it; `warmth_apart` how much more warmth (less:
    negative) the tree's notes say it needs than its taxon, as a share, where that is worth telling.
    """

    stage: str
    title: str
    bbch: str
    season: int
    basis: Literal["seen", "unknown", "never", "expected"]
    day: float = 0
    early: float = 0
    late: float = 0
    reached: float = 1
    needs: Moment | None = None
    warmth_apart: float | None = None


@dataclass(frozen=True, slots=True)
class CountsOn(Reason):
    """A work that an end of the window hangs on."""

    other: OtherWork


@dataclass(frozen=True, slots=True)
class DoesNotCome(Reason):
    """A work that an end of the window hangs on, and why it does not come."""

    work: str
    because: Reason | None


@dataclass(frozen=True, slots=True)
class EndsStage(Reason):
    """Another work ends a stage early."""

    other: OtherWork
    stage: str


@dataclass(frozen=True, slots=True)
class SetsBack(Reason):
    """Another work sets stages back by up to so many days."""

    other: OtherWork
    stages: tuple[str, ...]
    days: float


@dataclass(frozen=True, slots=True)
class Settles(Reason):
    """The works whose day a look settles."""

    works: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RestsOn(Reason):
    """The weather behind the date, the taxon's spread in warmth (a share), and the years if they are few."""

    weather: WeatherBehind
    spread: float | None = None
    few_years: int | None = None
