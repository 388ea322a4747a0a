"""Why a published day moved, in words: the note, the work or the window behind it."""

from collections.abc import Iterable, Iterator

import numpy as np

from care_planner.rulebook.moment import SEASON_STEP
from care_planner.rulebook.rule import Rule
from care_planner.stages.members import quantile
from care_planner.tasks.model import Window
from care_planner.windows.words import day_words, short_day
from care_planner.years.outcome import Outcome
from care_planner.years.previous import look_part, work_part
from care_planner.years.state import TreeYears


def moved_words(part: str, day: int, outcome: Outcome, window: Window, years: TreeYears) -> str:
    """`moved from 18 May: first flower seen 6 days later than expected`, or nothing if it never did.

    A day that stands keeps the words of its last move.
    """
    before = years.previous.tasks.get(part)
    if before is None or before.day == day:
        return before.moved if before is not None else ""
    return f"moved from {short_day(before.day)}: {_reason(before.day, day, outcome, window, years)}"


def look_moved_words(stage: str, step: int, day: int, years: TreeYears) -> str:
    """The same for a look at a stage."""
    before = years.previous.tasks.get(look_part(stage, years.frame.season + step))
    if before is None or before.day == day:
        return before.moved if before is not None else ""
    if before.day < years.shared.today:
        why = "nothing was noted then, so look again"
    else:
        causes = (*_seen(stage, step, years), *_expected(stage, step, years))
        why = _first_towards(day - before.day, causes) or "the work it settles has moved"
    return f"moved from {short_day(before.day)}: {why}"


def _reason(before: int, day: int, outcome: Outcome, window: Window, years: TreeYears) -> str:
    shared = years.shared
    if before < shared.today and outcome.rule.repeat is None:
        noted = (why for id, at in _stages(outcome.rule, outcome.step, years) for why in _seen(id, at, years))
        return _first_towards(day - before, noted) or f"not noted as done by {short_day(before)}"
    column = before - years.frame.first_day
    if 0 <= column < shared.workdays.away.size and shared.workdays.away[column]:
        return "everyone is away then"
    cause = _first_towards(day - before, _causes(outcome.rule, outcome.step, years))
    if cause:
        return cause
    if outcome.rule.repeat is not None:
        return f"its rounds now begin on {short_day(outcome.days[0][1])}"
    if window.opens is not None and before < window.opens:
        return f"its window now opens on {short_day(window.opens)}"
    if window.closes is not None and before > window.closes:
        return f"its window now closes on {short_day(window.closes)}"
    return "the new day is right in clearly more weather years"


# What may have moved a day: the way it would move it (later: positive, 0: either), and the words.
Cause = tuple[int, str]


def _first_towards(way: int, causes: Iterable[Cause]) -> str:
    """The first cause that can have moved a day that way; nothing where none can."""
    return next((words for towards, words in causes if towards * way >= 0), "")


def _causes(rule: Rule, step: int, years: TreeYears) -> Iterator[Cause]:
    """Notes first, then work, then expectations that moved."""
    stages = list(_stages(rule, step, years))
    for id, at in stages:
        yield from _seen(id, at, years)
    for id, outcome in _works(rule, step, years):
        yield from _worked(id, outcome, step, years)
    for id, outcome in _root_works(step, years):
        # Root work sets stages back, so any work may feel it, and only as a later day.
        yield from ((1, words) for _, words in _worked(id, outcome, step, years))
    for id, at in stages:
        yield from _expected(id, at, years)


def _stages(rule: Rule, step: int, years: TreeYears) -> Iterator[tuple[str, int]]:
    for moment in rule.moments():
        for part in moment.walk():
            at = step + SEASON_STEP[part.season]
            if part.stage is not None:
                yield part.stage, at
            if part.share_open is not None and years.curve is not None:
                yield years.curve.since, at
    # A stage that hangs on another feels what was seen of that one.
    if years.curve is not None and rule.kind in ("flowers", "pruning"):
        yield years.curve.since, step


def _seen(id: str, step: int, years: TreeYears) -> Iterator[Cause]:
    season = years.frame.season + step
    seen, expected = years.history.stages.get((id, season)), years.previous.stages.get((id, season))
    title = years.rules.stages[id].title.lower()
    if seen is not None and expected is not None and seen != expected:
        yield seen - expected, f"{title} seen {_days(seen - expected)} than expected"
    not_yet = years.history.not_yet.get((id, season))
    if not_yet is not None and seen is None:
        yield 1, f"{title} not yet reached on {short_day(not_yet)}"


def _worked(id: str, outcome: Outcome, step: int, years: TreeYears) -> Iterator[Cause]:
    before = years.previous.tasks.get(work_part(id, years.frame.season + step, 1))
    if outcome.state == "done" and (before is not None or outcome.day >= years.previous.made_on):
        yield 0, f"{id} was done on {day_words(outcome.day)}"
    elif outcome.state == "past" and before is not None:
        yield 0, f"{id} was not noted as done"
    elif before is not None and outcome.counts and np.isfinite(outcome.day) and outcome.day != before.day:
        yield int(outcome.day) - before.day, f"{id} has moved to {short_day(int(outcome.day))}"


def _works(rule: Rule, step: int, years: TreeYears) -> Iterator[tuple[str, Outcome]]:
    named = [id for rest in rule.rests for id in rest.after] + [after.work for after in rule.after]
    named += [part.work for moment in rule.moments() for part in moment.walk() if part.work]
    yield from _outcomes(named, step, years)


def _root_works(step: int, years: TreeYears) -> Iterator[tuple[str, Outcome]]:
    heavy = [id for id, other in years.rules.rules.items() if other.heavy and other.kind == "roots"]
    yield from _outcomes(heavy, step, years)


def _outcomes(named: Iterable[str], step: int, years: TreeYears) -> Iterator[tuple[str, Outcome]]:
    for id in dict.fromkeys(named):
        outcome = years.outcomes.get((id, step))
        if outcome is not None:
            yield id, outcome


def _expected(id: str, step: int, years: TreeYears) -> Iterator[Cause]:
    """A stage still to come that is expected on another day than before."""
    season = years.frame.season + step
    before = years.previous.stages.get((id, season))
    now = quantile(years.stage(id, step), 0.5)
    to_come = np.isfinite(now) and now >= years.shared.today
    if before is not None and to_come and abs(now - before) >= 1:
        title = years.rules.stages[id].title.lower()
        yield int(now) - before, f"{title} is now expected {_days(int(now) - before)}"


def _days(later: int) -> str:
    count = abs(later)
    unit = "day" if count == 1 else "days"
    return f"{count} {unit} {'later' if later > 0 else 'earlier'}"
