"""Why a rule has a day or none, in English: `goal is flowers; only for vigour`."""

from collections.abc import Callable
from typing import Any

from care_planner.rulebook.condition import FACTS
from care_planner.tasks.fate import Fate
from care_planner.windows.reason import (
    FactDiffers,
    FactNotKnown,
    FactNotTold,
    FactsForbid,
    Reason,
    SignNotNoted,
)
from care_planner.words.days import day_words, short_day
from care_planner.words.moments import moment_words
from care_planner.years.reasons import (
    AfterWhatComesFirst,
    AgainEvery,
    AimedAt,
    AimedByRisk,
    AllAway,
    AsPublished,
    AwayThroughout,
    BeforeKnown,
    BlockedBy,
    ClosesTooSoon,
    ComesRarely,
    DecideByEye,
    IsAsked,
    LaidIntoHours,
    LastNoted,
    LeftForGoal,
    NobodySaid,
    NoChoiceForGoal,
    NoMedianDay,
    NoNote,
    NotedDone,
    NotedSkipped,
    NotInShelter,
    NotWith,
    OneHeavyWork,
    OrderTooLate,
    OtherWork,
    PutOff,
    SeenOutside,
    TakenAsDone,
    WaitsForAnswer,
    WaitsInVain,
    WeatherNotKnown,
)

_PARTS = {
    "opening": "from the day the window opens",
    "early": "early in the window, once most weather years have it open",
    "late": "as late as the window allows",
    "ready": "ready as the window opens, since early costs nothing",
    "middle": "near the middle of the window",
}


def fate_words(fate: Fate) -> str:
    """`past: its time was 3 to 20 May 2027, ...`."""
    return f"{fate.state}: {why_not(fate.reason)}"


def why_not(reason: Reason | None) -> str:
    """Any reason of the resolver, as part of a sentence; nothing where there is none."""
    return _WORDS[type(reason)](reason) if reason is not None else ""


def other_words(other: OtherWork) -> str:
    """`done on 3 March 2027` or `planned for 3 March 2027`."""
    return f"{other.state} {'on' if other.state == 'done' else 'for'} {day_words(other.day)}"


def _differs(reason: FactDiffers) -> str:
    fact = FACTS[reason.fact]
    said = f"{fact.words} is {reason.value}; only for {' or '.join(reason.wanted)}"
    return dict(fact.said).get(reason.value, said)


def _forbid(reason: FactsForbid) -> str:
    return f"not where {' and '.join(_met(*met) for met in reason.met)}"


def _met(fact: str, value: str | tuple[str, ...]) -> str:
    if isinstance(value, tuple):
        return f"{' or '.join(value)} was noted"
    return dict(FACTS[fact].said).get(value, f"{FACTS[fact].words} is {value}")


def _rarely(reason: ComesRarely) -> str:
    years = f"in {reason.share:.0%} of the weather years only"
    return f"it would close before it opens; {years}" if reason.squeezed else f"it comes {years}"


def _span(reason: AllAway | TakenAsDone | BeforeKnown | NoNote | IsAsked | NobodySaid) -> str:
    return f"{short_day(reason.first)} to {day_words(reason.last)}"


def _by_risk(reason: AimedByRisk) -> str:
    which = "latest" if reason.latest else "earliest"
    return f"the {which} day that keeps the {reason.risk} risk at or under {reason.share:.0%}"


def _too_late(reason: OrderTooLate) -> str:
    return f"what must come first ends {'too long ' if reason.too_long else ''}after its window"


_AWAY = "everyone is away for the whole window"
_DAYS_OFF = "a note puts all work off for what is left of its time"
_WORDS: dict[type[Reason], Callable[[Any], str]] = {
    FactDiffers: _differs,
    SignNotNoted: lambda why: f"only where {' or '.join(why.signs)} was noted",
    FactNotTold: lambda why: f"{FACTS[why.fact].as_told or FACTS[why.fact].words} is not known",
    FactsForbid: _forbid,
    FactNotKnown: lambda why: f"whether {FACTS[why.fact].words.replace('_', ' ')} is not known",
    IsAsked: lambda why: f"its time was {_span(why)}; whether it was done is asked",
    NobodySaid: lambda why: (
        f"its time was {_span(why)}; nobody said that it was done, so it counts as not done"
    ),
    WaitsForAnswer: lambda why: f"it waits for an answer: was {' or '.join(why.works)} done?",
    DecideByEye: lambda why: (
        f"it comes in {why.share:.0%} of the weather years; what cannot be undone is planned from "
        f"{why.needed:.0%} on: decide by eye"
    ),
    SeenOutside: lambda why: f"at once: it was noted as standing outside on {day_words(why.day)}",
    NotWith: lambda why: f"not with {why.other.work}, {other_words(why.other)}",
    BlockedBy: lambda why: f"blocked by {why.work}: {why.title}",
    OneHeavyWork: lambda why: f"one heavy work a season: {why.other.work}, {other_words(why.other)}",
    NotInShelter: lambda why: "not in shelter in the winter before",
    WeatherNotKnown: lambda why: "the weather it needs is not known",
    ClosesTooSoon: lambda why: f"it would close before {moment_words(why.moment)} in most years",
    NotedSkipped: lambda why: "noted as not to be done this season",
    NotedDone: lambda why: f"noted as done on {day_words(why.day)}",
    LastNoted: lambda why: f"last noted on {day_words(why.day)}",
    WaitsInVain: lambda why: f"it waits for {' or '.join(why.works)}, which does not come",
    ComesRarely: _rarely,
    NoMedianDay: lambda why: "it comes in few weather years only",
    LeftForGoal: lambda why: str(why.says),
    NoChoiceForGoal: lambda why: f"no room, and the pack has no choice for {why.goal}",
    AllAway: lambda why: f"{_DAYS_OFF if why.days_off else _AWAY}, {_span(why)}",
    OrderTooLate: _too_late,
    TakenAsDone: lambda why: f"taken as done, {_span(why)}",
    BeforeKnown: lambda why: f"its time was {_span(why)}, before the tree was known",
    NoNote: lambda why: f"its time was {_span(why)}; no note says that it was done, so it counts as not done",
    AimedAt: lambda why: _PARTS[why.part],
    AimedByRisk: _by_risk,
    AsPublished: lambda why: "as published before",
    PutOff: lambda why: f"put off until {short_day(why.day)} by a note",
    LaidIntoHours: lambda why: "where it costs least within your hours",
    AfterWhatComesFirst: lambda why: "as soon as what must come first is done",
    AwayThroughout: lambda why: f"{_DAYS_OFF if why.days_off else _AWAY}; this is the nearest day",
    AgainEvery: lambda why: f"{why_not(why.first)}, then every {why.days} days",
}
