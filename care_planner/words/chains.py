"""The chain of reasons behind a task, in English: a line a link."""

from collections.abc import Callable
from typing import Any

from care_planner.rulebook.condition import FACTS
from care_planner.rulebook.moment import Moment
from care_planner.spans import NEVER
from care_planner.tasks.links import (
    ColdNights,
    CostsShare,
    CountsOn,
    DayChosen,
    DoesNotCome,
    DoneOn,
    EndsStage,
    Forbids,
    ForFacts,
    GoalDecides,
    HotMonths,
    Needs,
    NoRoomIn,
    OnlyIf,
    OtherGoal,
    PlainWords,
    RestsAfter,
    RestsOn,
    RuleSource,
    RuleWhy,
    SetsBack,
    Settles,
    StageDates,
    WindowEnds,
)
from care_planner.tasks.model import Task
from care_planner.windows.reason import Reason
from care_planner.words.days import MONTHS, day_words, short_day, weekday_words
from care_planner.words.fates import other_words, why_not
from care_planner.words.moments import moment_words, plain
from care_planner.words.names import bench_words
from care_planner.words.weather import weather_words
from care_planner.years.reasons import OtherWork


def why_lines_of(task: Task) -> tuple[str, ...]:
    """A line for every reason of a task."""
    return tuple(link_words(reason) for reason in task.reasons)


def link_words(reason: Reason) -> str:
    """One link of a chain."""
    return _WORDS[type(reason)](reason)


def _window(reason: WindowEnds) -> str:
    if reason.opens is None and reason.closes is not None:
        return f"The time for it: the {reason.days} days up to {moment_words(reason.closes)}"
    if reason.closes is None and reason.opens is not None:
        return f"The time for it: {reason.days} days from {moment_words(reason.opens)}"
    assert reason.opens is not None and reason.closes is not None
    return f"The time for it: from {moment_words(reason.opens)}, until {moment_words(reason.closes)}"


def _source(reason: RuleSource) -> str:
    pack = f"{reason.pack}, changed by your own rules" if reason.changed else reason.pack
    return f"Rule: {reason.rule} of the pack {pack}. Source: {reason.source}"


def _stage(reason: StageDates) -> str:
    title = f"Stage: {reason.title} (BBCH {reason.bbch}), {reason.season}"
    if reason.basis == "seen":
        return f"{title}: seen on {day_words(reason.day)}"
    if reason.basis == "unknown":
        return f"{title}: not known, for want of weather"
    if reason.basis == "never":
        return f"{title}: not expected; it comes in {reason.reached:.0%} of the weather years"
    until = day_words(reason.late) if reason.late < NEVER else "never"
    span = f"about {day_words(reason.day)}, in 8 years of 10 between {short_day(reason.early)} and {until}"
    needs = f". It comes with {moment_words(reason.needs)}" if reason.needs is not None else ""
    return f"{title}: {span}{needs}{_learnt(reason.warmth_apart, reason.needs)}"


def _learnt(apart: float | None, needs: Moment | None) -> str:
    if apart is None:
        return ""
    cold = needs is not None and needs.warmth is not None and needs.warmth.by.method == "cold"
    more = f"{abs(apart):.0%} {'less' if apart < 0 else 'more'}"
    return f". By its notes and its neighbours' it needs {more} {'cold' if cold else 'warmth'} than its kind"


def _other(other: OtherWork) -> str:
    return f"{plain(other.work)}, {other_words(other)}"


def _set_back(reason: SetsBack) -> str:
    stages = " and ".join(map(plain, reason.stages))
    return f"Later by up to {reason.days} days through {_other(reason.other)}: {stages}"


def _rests_on(reason: RestsOn) -> str:
    words = f"Weather: {weather_words(reason.weather)}"
    if reason.spread is not None:
        words += f"; trees of this kind differ by about {reason.spread:.0%} in the warmth they need"
    if reason.few_years is not None:
        return f"Few years: this date rests on {reason.few_years} weather years. {words}"
    return words


def _cold_nights(reason: ColdNights) -> str:
    parts = [
        f"{often} by {short_day(day)}"
        for often, day in (("one autumn in ten", reason.in_ten), ("one in two", reason.in_two))
        if day is not None
    ]
    when = ", ".join(parts) if parts else "in fewer than one autumn in ten"
    limit = f"Limit: {reason.limit_c:g} degC on {bench_words(reason.bench)}"
    words = f"{limit}; {when}; sooner if the forecast says so"
    if not reason.bench_to:
        words += f". Where to is not known yet: to a place that stays above {reason.limit_c:g} degC"
    return words


def _hot_months(reason: HotMonths) -> str:
    told = ", ".join(f"{MONTHS[month - 1]} {share:.0%}" for month, share in reason.months)
    return f"Years with {reason.days} days of {reason.limit_c:g} degC or more: {told}"


def share_words(share: float) -> str:
    """A share, 0 to 1, as people say it."""
    parts = (
        (0.07, "a little"),
        (0.15, "about a tenth"),
        (0.22, "about a fifth"),
        (0.3, "about a quarter"),
        (0.42, "about a third"),
        (0.58, "about half"),
        (0.72, "about two thirds"),
        (0.85, "about three quarters"),
    )
    return next((words for most, words in parts if share <= most), "most")


_WORDS: dict[type[Reason], Callable[[Any], str]] = {
    PlainWords: lambda why: str(why.text),
    DayChosen: lambda why: f"{weekday_words(why.day)}: {why_not(why.aim)}",
    DoneOn: lambda why: f"Noted as done on {weekday_words(why.day)}",
    NoRoomIn: lambda why: (
        f"No room in most years: it would close before it opens in all but {why.share:.0%} of the weather "
        "years"
    ),
    GoalDecides: lambda why: f"The goal decides: {why.says}; it costs {why.costs}",
    OtherGoal: lambda why: f"With the goal {' or '.join(why.goals)}: {why.says}; it costs {why.costs}",
    RuleWhy: lambda why: f"Why: {why.text}",
    ForFacts: lambda why: "For " + ", ".join(f"{FACTS[fact].words} {value}" for fact, value in why.facts),
    ColdNights: _cold_nights,
    HotMonths: _hot_months,
    CostsShare: lambda why: f"It costs {share_words(why.share)} of {why.of}, by reckoning (starting value)",
    OnlyIf: lambda why: (
        f"Right only if {plain(why.work)} was {'done' if why.done else 'not done'}, which no note tells"
    ),
    WindowEnds: _window,
    RestsAfter: lambda why: f"Rest: {why.days} days after {' or '.join(map(plain, why.works))}",
    Needs: lambda why: f"Needs: {'; '.join(why.texts)}",
    Forbids: lambda why: f"Avoid: {'; '.join(why.texts)}",
    RuleSource: _source,
    StageDates: _stage,
    CountsOn: lambda why: f"Counts on {_other(why.other)}",
    DoesNotCome: lambda why: f"{plain(why.work)} does not come: {why_not(why.because)}",
    EndsStage: lambda why: f"Sooner through {_other(why.other)}: {plain(why.stage)}",
    SetsBack: _set_back,
    Settles: lambda why: f"It settles when to do: {', '.join(map(plain, why.works))}",
    RestsOn: _rests_on,
}
