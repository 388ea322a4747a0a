"""Why a published day moved: the note, the work or the window behind it."""

from collections.abc import Iterable, Iterator

import numpy as np

from care_planner.rulebook.moment import SEASON_STEP
from care_planner.rulebook.rule import Rule
from care_planner.stages.members import quantile
from care_planner.tasks.foreseen import FORECAST_CARRIES_DAYS, foreseen, warmer_c
from care_planner.tasks.model import Window
from care_planner.windows.reason import Reason
from care_planner.years.move import (
    AwayThen,
    ClearlyBetter,
    ClosesNow,
    DayOffThen,
    HoursFreed,
    Move,
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
from care_planner.years.outcome import Outcome
from care_planner.years.previous import look_part, work_part
from care_planner.years.reasons import LaidIntoHours
from care_planner.years.state import TreeYears


def move_of_work(part: str, day: int, outcome: Outcome, window: Window, years: TreeYears) -> Move | None:
    """From which published day it moved and why, or None if it never did.

    A day that stands keeps its last move.
    """
    before = years.previous.tasks.get(part)
    if before is None or before.day == day:
        return before.move if before is not None else None
    unnoted = before.move.unnoted if before.move is not None else 0
    if not unnoted and before.day < years.shared.today:
        unnoted = before.day
    return Move(before.day, _reason(before.day, day, outcome, window, years), unnoted)


def move_of_look(stage: str, step: int, day: int, years: TreeYears) -> Move | None:
    """The same for a look at a stage."""
    before = years.previous.tasks.get(look_part(stage, years.frame.season + step))
    if before is None or before.day == day:
        return before.move if before is not None else None
    if before.day < years.shared.today:
        why: Reason = NothingNoted()
    else:
        causes = (*_seen(stage, step, years), *_expected(stage, step, years))
        why = _first_towards(day - before.day, causes) or SettledMoved()
    return Move(before.day, why)


def _reason(before: int, day: int, outcome: Outcome, window: Window, years: TreeYears) -> Reason:
    shared = years.shared
    put_off = years.history.put_off.get((outcome.rule.id, years.frame.season + outcome.step))
    if put_off is not None and before < put_off and before < day:
        return PutOffNow(put_off)
    if before < shared.today and outcome.rule.repeat is None:
        noted = (why for id, at in _stages(outcome.rule, outcome.step, years) for why in _seen(id, at, years))
        return _first_towards(day - before, noted) or NotDoneBy(before)
    column = before - years.frame.first_day
    if 0 <= column < shared.workdays.away.size and shared.workdays.away[column]:
        days_off = any(first <= before <= last for first, last in years.tree.days_off)
        return DayOffThen() if days_off else AwayThen()
    cause = _first_towards(day - before, _causes(outcome.rule, outcome.step, years))
    if cause:
        return cause
    if outcome.rule.repeat is not None:
        return RoundsBegin(outcome.days[0][1])
    asked = outcome.rule, outcome.step, day - before, years
    if window.opens is not None and before < window.opens:
        return OpensNow(window.opens, **foreseen(window.opens, *asked))
    if window.closes is not None and before > window.closes:
        return ClosesNow(window.closes, **foreseen(window.closes, *asked))
    if isinstance(outcome.aimed, LaidIntoHours):
        return HoursFreed()
    return ClearlyBetter(**foreseen(day, *asked))


# What may have moved a day: the way it would move it (later: positive, 0: either), and the reason.
Cause = tuple[int, Reason]


def _first_towards(way: int, causes: Iterable[Cause]) -> Reason | None:
    """The first cause that can have moved a day that way; None where none can."""
    return next((why for towards, why in causes if towards * way >= 0), None)


def _causes(rule: Rule, step: int, years: TreeYears) -> Iterator[Cause]:
    """Notes first, then work, then expectations that moved."""
    stages = list(_stages(rule, step, years))
    for id, at in stages:
        yield from _seen(id, at, years)
    for id, outcome in _works(rule, step, years):
        yield from _worked(id, outcome, step, years)
    for id, outcome in _root_works(step, years):
        # Root work sets stages back, so any work may feel it, and only as a later day.
        yield from ((1, why) for _, why in _worked(id, outcome, step, years))
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
        yield seen - expected, StageSeen(id, title, seen - expected)
    not_yet = years.history.not_yet.get((id, season))
    if not_yet is not None and seen is None:
        yield 1, StageNotYet(id, title, not_yet)


def _worked(id: str, outcome: Outcome, step: int, years: TreeYears) -> Iterator[Cause]:
    before = years.previous.tasks.get(work_part(id, years.frame.season + step, 1))
    if outcome.state == "done" and (before is not None or outcome.day >= years.previous.made_on):
        # Done sooner than planned it lets the rest come sooner; work that nobody planned can only delay.
        yield int(outcome.day) - before.day if before is not None else 1, WorkDone(id, int(outcome.day))
    elif outcome.state == "past" and before is not None:
        yield 0, WorkNotNoted(id)
    elif before is not None and outcome.counts and np.isfinite(outcome.day) and outcome.day != before.day:
        yield int(outcome.day) - before.day, WorkMoved(id, int(outcome.day))


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
        later = int(now) - before
        warmer = warmer_c(int(now) - FORECAST_CARRIES_DAYS, years)
        # Warmth makes a stage earlier: a move the other way has another cause.
        yield later, StageExpected(id, title, later, warmer if warmer * later < 0 else 0.0)
