"""What a person should be told beside the dates, in English."""

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import numpy as np

from care_planner.tasks.links import PlainWords
from care_planner.tasks.notices import (
    AfterLateRoots,
    AgeNotTold,
    AskedByEye,
    ChoiceMade,
    DoneTooLate,
    FactNeeded,
    GivenUp,
    LateCosts,
    NobodyThere,
    NoOwnWorks,
    Notice,
    StillWeak,
    WasSkipped,
    WeatherNeeded,
    WhereTo,
)
from care_planner.tasks.telling import together
from care_planner.windows.reason import Reason
from care_planner.words.bare_kinds import no_works_words
from care_planner.words.chains import link_words, share_words
from care_planner.words.days import day_words
from care_planner.words.fates import why_not
from care_planner.words.weather import few_years_words, left_out_words, record_note_words
from care_planner.years.common import FewWeatherYears, RecordNote, SeasonsLeftOut

MOST_NAMES = 4  # more trees than this are counted
NAMES_BEFORE_COUNT = 3


def notice_lines(notices: Iterable[Notice]) -> list[str]:
    """A line a notice; what most hangs on comes first."""
    return list(dict.fromkeys(notice_words(notice) for notice in together(notices)))


def notice_words(notice: Notice) -> str:
    """`sats-01: 2027 and 2028, shelter: unknown, ...`."""
    words = _WORDS[type(notice.what)](notice.what)
    if notice.seasons:
        words = f"{' and '.join(map(str, notice.seasons))}, {words}"
    return f"{_names(notice.trees)}: {words}" if notice.trees else words


def _names(trees: Sequence[str]) -> str:
    if len(trees) <= MOST_NAMES:
        return ", ".join(trees)
    return f"{', '.join(trees[:NAMES_BEFORE_COUNT])} and {len(trees) - NAMES_BEFORE_COUNT} more"


def _too_late(why: DoneTooLate) -> str:
    cost = why.says or "fewer flowers next spring"
    return f"{why.work} was done on {day_words(why.done)}, after its last day, {day_words(why.last)}: {cost}"


def _late_costs(why: LateCosts) -> str:
    tense = "was done on" if why.state == "done" else "is planned for"
    return (
        f"{why.work} {tense} {day_words(why.day)}: it costs {share_words(why.share)} of {why.of}, by "
        "reckoning (starting value); the fat buds in autumn say more"
    )


def _late_roots(why: AfterLateRoots) -> str:
    words = f"{why.work}: not after {why.roots} as late as {day_words(why.done)}"
    if np.isfinite(why.opens) and np.isfinite(why.closes):
        room = f"{(why.closes - why.opens) / 7:.0f} weeks" if why.closes - why.opens >= 7 else "no time"
        words += (
            f". It would open about {day_words(why.opens)} and close {day_words(why.closes)}, so that new "
            f"buds get their warmth: {room} between"
        )
    for choice in why.choices:
        which = "The goal decides" if choice.decides else f"With the goal {' or '.join(choice.goals)}"
        words += f". {which}: {choice.says}; it costs {choice.costs}"
    return words


_WORDS: dict[type[Reason], Callable[[Any], str]] = {
    PlainWords: lambda why: str(why.text),
    AgeNotTold: lambda why: "age is not known: its shelter goes by a young tree's frost limit",
    FactNeeded: lambda why: f"{why_not(why.why)}; it decides: {', '.join(why.works)}",
    WeatherNeeded: lambda why: f"{why.work}: unknown, {why_not(why.why)}",
    NobodyThere: lambda why: f"{why.work}: {why_not(why.why)}",
    GivenUp: lambda why: f"{why.work}: needed in {why.share:.0%} of the weather years. {why.why}",
    ChoiceMade: lambda why: f"{why.work}: {'. '.join(map(link_words, why.parts))}",
    DoneTooLate: _too_late,
    LateCosts: _late_costs,
    AskedByEye: lambda why: f"{why.work}: {why_not(why.why)}",
    WhereTo: lambda why: (
        f"its winter place (winter_bench) is not known: one that stays above {why.limit_c:g} degC"
    ),
    NoOwnWorks: lambda why: no_works_words(why.taxon),
    StillWeak: lambda why: f"noted as weak on {day_words(why.day)}: is it still? Note strong or weak",
    WasSkipped: lambda why: f"{why.work} was skipped: {why.costs}",
    AfterLateRoots: _late_roots,
    RecordNote: record_note_words,
    SeasonsLeftOut: left_out_words,
    FewWeatherYears: few_years_words,
}
