"""Why a published day moved, as facts that go to plan.json and are read back from it. Days are ordinals."""

from dataclasses import asdict, dataclass
from typing import Any

from care_planner.windows.reason import Reason


@dataclass(frozen=True, slots=True)
class Move:
    """From which published day a task moved, and why. None: only the cause's words are known.

    `unnoted`: the first published day of it that passed without a note, 0 where none did.
    """

    from_day: int | None
    cause: Reason
    unnoted: int = 0


@dataclass(frozen=True, slots=True)
class NothingNoted(Reason):
    """A look that passed without a note."""


@dataclass(frozen=True, slots=True)
class SettledMoved(Reason):
    """The work that a look settles has moved."""


@dataclass(frozen=True, slots=True)
class NotDoneBy(Reason):
    """The work was not noted as done by its day."""

    day: int


@dataclass(frozen=True, slots=True)
class DayOffThen(Reason):
    """A note puts its works off on the day it had."""


@dataclass(frozen=True, slots=True)
class AwayThen(Reason):
    """Everyone is away on the day it had."""


@dataclass(frozen=True, slots=True)
class PutOffNow(Reason):
    """A note puts it off until a day."""

    day: int


@dataclass(frozen=True, slots=True)
class NoLongerPutOff(Reason):
    """The note that had put it off was taken back."""


@dataclass(frozen=True, slots=True)
class RoundsBegin(Reason):
    """Work that comes again begins on another day."""

    day: int


@dataclass(frozen=True, slots=True)
class OpensNow(Reason):
    """The window opens after the day it had. `warmer_c`: what the forecast says of the next days against the
    usual (degC), where it has a say in this; else 0. `night`: the day on which a cold night ends that did it,
    with its `low_c` at the bench; else 0."""

    day: int
    warmer_c: float = 0.0
    night: int = 0
    low_c: float = 0.0


@dataclass(frozen=True, slots=True)
class ClosesNow(Reason):
    """The window closes before the day it had. The forecast's part as in `OpensNow`."""

    day: int
    warmer_c: float = 0.0
    night: int = 0
    low_c: float = 0.0


@dataclass(frozen=True, slots=True)
class ClearlyBetter(Reason):
    """The new day is right in clearly more weather years. The forecast's part as in `OpensNow`."""

    warmer_c: float = 0.0
    night: int = 0
    low_c: float = 0.0


@dataclass(frozen=True, slots=True)
class HoursFreed(Reason):
    """Works of other trees or days moved, and with them the hours for it."""


@dataclass(frozen=True, slots=True)
class StageSeen(Reason):
    """A stage was seen so many days later than expected (negative: earlier)."""

    stage: str
    title: str
    days: int


@dataclass(frozen=True, slots=True)
class StageNotYet(Reason):
    """A note says that a stage was not yet reached on a day."""

    stage: str
    title: str
    day: int


@dataclass(frozen=True, slots=True)
class StageExpected(Reason):
    """A stage is now expected so many days later (negative: earlier). `warmer_c` as in `OpensNow`."""

    stage: str
    title: str
    days: int
    warmer_c: float = 0.0


@dataclass(frozen=True, slots=True)
class WorkDone(Reason):
    """Another work was done on a day."""

    work: str
    day: int


@dataclass(frozen=True, slots=True)
class WorkNotNoted(Reason):
    """Another work was not noted as done."""

    work: str


@dataclass(frozen=True, slots=True)
class WorkMoved(Reason):
    """Another work has moved to a day."""

    work: str
    day: int


@dataclass(frozen=True, slots=True)
class AsRecorded(Reason):
    """Words of an older plan, where no more than they are known."""

    words: str


CAUSES: dict[str, type[Reason]] = {
    cause.__name__: cause
    for cause in (
        *(NothingNoted, SettledMoved, NotDoneBy, AwayThen, PutOffNow, DayOffThen, RoundsBegin, OpensNow),
        *(ClosesNow, ClearlyBetter, HoursFreed, NoLongerPutOff),
        *(StageSeen, StageNotYet, StageExpected, WorkDone, WorkNotNoted, WorkMoved),
    )
}


def put_off(move: Move | None) -> bool:
    """Is it of a look that nobody noted, and that was given a later day?"""
    return move is not None and isinstance(move.cause, NothingNoted)


def of_move(move: Move | None) -> tuple[bool, int]:
    """What of a move can change a new plan: whether it was put off, and the day that passed unnoted."""
    return put_off(move), 0 if move is None else move.unnoted


def move_data(move: Move | None) -> dict[str, Any] | None:
    """A move as plain data; None where there is none or only its words are known."""
    if move is None or type(move.cause).__name__ not in CAUSES:
        return None
    passed = {"unnoted": move.unnoted} if move.unnoted else {}
    return {"from": move.from_day, **passed, "cause": type(move.cause).__name__, **asdict(move.cause)}  # type: ignore[call-overload]


def move_of(data: Any, words: str) -> Move | None:
    """The move that `move_data` wrote; where it wrote none, or a cause of another version, its words."""
    if isinstance(data, dict) and data.get("cause") in CAUSES:
        fields = {name: value for name, value in data.items() if name not in ("from", "cause", "unnoted")}
        return Move(int(data["from"]), CAUSES[data["cause"]](**fields), int(data.get("unnoted", 0)))
    return Move(None, AsRecorded(words)) if words else None
