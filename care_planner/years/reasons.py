"""Why a rule has a day or none in a season: what the resolver found, as facts. Days are ordinals."""

from dataclasses import dataclass
from typing import Literal

from care_planner.rulebook.moment import Moment
from care_planner.windows.reason import Reason

# What of another work stands behind a reason: its id, the state of its outcome and its day.
State = Literal[
    "planned",  # it has a day, today or later
    "done",  # noted in the journal
    "presumed",  # its time has passed without a note and the rule says that it counts as done
    "open",  # its time has passed without a note, and whether it was done is asked
    "by-eye",  # it cannot be undone, and its window comes in too few weather years: the grower decides
    "waits",  # it would hurt if another work had been done, of which no note tells
    "past",  # its time has passed without a note: it counts as not done
    "lost",  # a fact, a block or another work stands against it
    "away",  # everyone is away for the whole of its window, and around it
    "asked",  # a fact it needs was not told
    "rare",  # it comes in less than half of the weather years
    "no-room",  # it would close before it opens, and the goal's choice is to leave it
    "unknown",  # the weather it needs is not there
]


@dataclass(frozen=True, slots=True)
class OtherWork:
    """Another work that has a say: its rule, its state, its first day."""

    work: str
    state: State
    day: float


# Why it has no day.


@dataclass(frozen=True, slots=True)
class NotWith(Reason):
    """The rule does not go with another work that counts."""

    other: OtherWork


@dataclass(frozen=True, slots=True)
class BlockedBy(Reason):
    """Another rule blocks it, whether that one has a day or not."""

    work: str
    title: str


@dataclass(frozen=True, slots=True)
class OneHeavyWork(Reason):
    """The season has its one heavy work."""

    other: OtherWork


@dataclass(frozen=True, slots=True)
class NotInShelter(Reason):
    """The tree cannot come out of a shelter it was not in."""


@dataclass(frozen=True, slots=True)
class WeatherNotKnown(Reason):
    """Too few weather years know the weather it needs."""


@dataclass(frozen=True, slots=True)
class ClosesTooSoon(Reason):
    """In most years it would close before a moment that it must outlast."""

    moment: Moment


@dataclass(frozen=True, slots=True)
class NotedSkipped(Reason):
    """A note says that it is not to be done this season."""


@dataclass(frozen=True, slots=True)
class NotedDone(Reason):
    """A note says that it was done."""

    day: int


@dataclass(frozen=True, slots=True)
class LastNoted(Reason):
    """The last note of a work that comes again and again."""

    day: int


@dataclass(frozen=True, slots=True)
class WaitsInVain(Reason):
    """It waits for works none of which comes."""

    works: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ComesRarely(Reason):
    """Its window is there in too small a share of the weather years, squeezed or not come at all."""

    share: float
    squeezed: bool


@dataclass(frozen=True, slots=True)
class NoMedianDay(Reason):
    """The member in the middle has no day for it."""


@dataclass(frozen=True, slots=True)
class LeftForGoal(Reason):
    """There is no room, and the goal's choice leaves it undone: the pack's own words."""

    says: str


@dataclass(frozen=True, slots=True)
class NoChoiceForGoal(Reason):
    """There is no room, and the pack has no choice for the goal."""

    goal: str


@dataclass(frozen=True, slots=True)
class AllAway(Reason):
    """Everyone is away from the first to the last day of the window, or the tree has `days_off`."""

    first: int
    last: int
    days_off: bool = False


@dataclass(frozen=True, slots=True)
class OrderTooLate(Reason):
    """What must come first ends after its window, or too long after it."""

    too_long: bool


@dataclass(frozen=True, slots=True)
class TakenAsDone(Reason):
    """Its days have passed without a note, and the pack takes it as done."""

    first: int
    last: int


@dataclass(frozen=True, slots=True)
class BeforeKnown(Reason):
    """Its days were before the tree was known."""

    first: int
    last: int


@dataclass(frozen=True, slots=True)
class NoNote(Reason):
    """Its days have passed and no note says that it was done."""

    first: int
    last: int


@dataclass(frozen=True, slots=True)
class IsAsked(Reason):
    """Its days have passed without a note, and whether it was done is asked."""

    first: int
    last: int


@dataclass(frozen=True, slots=True)
class NobodySaid(Reason):
    """Its days have passed, and the question whether it was done has lapsed."""

    first: int
    last: int


@dataclass(frozen=True, slots=True)
class WaitsForAnswer(Reason):
    """It would hurt if one of these works had been done, of which no note tells."""

    works: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DecideByEye(Reason):
    """It cannot be undone, and has its window in this share of the weather years only."""

    share: float
    needed: float


# Why it has the day it has.


@dataclass(frozen=True, slots=True)
class SeenOutside(Reason):
    """A note says that the tree stands outside, where it should be in shelter."""

    day: int


@dataclass(frozen=True, slots=True)
class AimedAt(Reason):
    """The part of the window that the rule wants."""

    part: Literal["opening", "early", "late", "ready", "middle"]


@dataclass(frozen=True, slots=True)
class AimedByRisk(Reason):
    """The latest (or earliest) day that keeps a risk at or under a share."""

    risk: str
    share: float
    latest: bool


@dataclass(frozen=True, slots=True)
class AsPublished(Reason):
    """The published day stands."""


@dataclass(frozen=True, slots=True)
class LaidIntoHours(Reason):
    """The day on which it costs least within people's hours."""


@dataclass(frozen=True, slots=True)
class PutOff(Reason):
    """A note puts it off: not before this day."""

    day: int


@dataclass(frozen=True, slots=True)
class AfterWhatComesFirst(Reason):
    """As soon as what must come first is done."""


@dataclass(frozen=True, slots=True)
class AwayThroughout(Reason):
    """Everyone is away for the whole window, or a note puts all work off (`days_off`)."""

    days_off: bool = False


@dataclass(frozen=True, slots=True)
class AgainEvery(Reason):
    """The first day's aim, and then again."""

    first: Reason
    days: int
