"""Why a published day moved, in English: `moved from 18 May: bud swell seen 6 days later than expected`."""

from collections.abc import Callable
from typing import Any

from care_planner.windows.reason import Reason
from care_planner.words.days import day_words, days_apart, short_day, weekday_words
from care_planner.years.move import (
    AsRecorded,
    AwayThen,
    ClearlyBetter,
    ClosesNow,
    DayOffThen,
    HoursFreed,
    Move,
    NoLongerPutOff,
    NotDoneBy,
    NothingNoted,
    OpensNow,
    PutOffNow,
    RoundsBegin,
    SettledMoved,
    StageExpected,
    StageNotYet,
    StageSeen,
    WorkDone,
    WorkMoved,
    WorkNotNoted,
)


def moved_words(move: Move | None) -> str:
    """From which day and why; nothing where it never moved."""
    if move is None:
        return ""
    if move.from_day is None:
        return cause_words(move.cause)
    return f"moved from {short_day(move.from_day)}: {cause_words(move.cause)}"


def cause_words(cause: Reason) -> str:
    """Why a day moved."""
    return _WORDS[type(cause)](cause)


def _foreseen(why: OpensNow | ClosesNow | ClearlyBetter) -> str:
    if not why.night:
        return _warmer(why.warmer_c)
    return f"; by the forecast the night to {weekday_words(why.night)} is expected at {round(why.low_c)} degC"


def _warmer(warmer_c: float) -> str:
    if not warmer_c:
        return ""
    words = "warmer" if warmer_c > 0 else "colder"
    return f"; the forecast says that the next days are {abs(warmer_c):.1f} degC {words} than usual"


_WORDS: dict[type[Reason], Callable[[Any], str]] = {
    NothingNoted: lambda why: "nothing was noted then, so look again",
    SettledMoved: lambda why: "the work it settles has moved",
    NotDoneBy: lambda why: f"not noted as done by {short_day(why.day)}",
    DayOffThen: lambda why: "you put it off",
    AwayThen: lambda why: "everyone is away then",
    PutOffNow: lambda why: f"put off until {short_day(why.day)} by a note",
    NoLongerPutOff: lambda why: "the note that put it off was taken back",
    RoundsBegin: lambda why: f"its rounds now begin on {short_day(why.day)}",
    OpensNow: lambda why: f"its window now opens on {short_day(why.day)}{_foreseen(why)}",
    ClosesNow: lambda why: f"its window now closes on {short_day(why.day)}{_foreseen(why)}",
    HoursFreed: lambda why: "your hours hold it better there, since other works moved",
    ClearlyBetter: lambda why: f"the new day is right in clearly more weather years{_foreseen(why)}",
    StageSeen: lambda why: f"{why.title} seen {days_apart(why.days)} than expected",
    StageNotYet: lambda why: f"{why.title} not yet reached on {short_day(why.day)}",
    StageExpected: lambda why: f"{why.title} is now expected {days_apart(why.days)}{_warmer(why.warmer_c)}",
    WorkDone: lambda why: f"{why.work} was done on {day_words(why.day)}",
    WorkNotNoted: lambda why: f"{why.work} was not noted as done",
    WorkMoved: lambda why: f"{why.work} has moved to {short_day(why.day)}",
    AsRecorded: lambda why: str(why.words),
}
