"""A window with its aim -> the day that the work is set on, or why it has none."""

from dataclasses import replace

import numpy as np

from care_planner.rulebook.effect import NoRoom
from care_planner.rulebook.rule import Rule
from care_planner.spans import NEVER
from care_planner.stages.reach import Floats
from care_planner.windows.window import MemberWindow, raw_ends
from care_planner.years.choose import Wanted
from care_planner.years.eligible import (
    not_before,
    put_off_until,
    rested_until,
)
from care_planner.years.outcome import Outcome
from care_planner.years.place import (
    Aim,
    day_chance,
    one_day,
    repeated_days,
)
from care_planner.years.previous import SOON_DAYS, WORTH_MOVING, work_part
from care_planner.years.reasons import (
    AgainEvery,
    AllAway,
    AsPublished,
    AwayThroughout,
    BeforeKnown,
    LaidIntoHours,
    LastNoted,
    NoNote,
    OrderTooLate,
    PutOff,
    SeenOutside,
    TakenAsDone,
)
from care_planner.years.silence import is_winter, outside_after, unanswered
from care_planner.years.state import TreeYears
from care_planner.years.workdays import Workdays

# Ways in which a work holds for a time.
LASTING_WAYS = ("watch", "standing")
# Work of a past season is still put on a day if the day it was wanted on is no further back than this.
LATE_DAYS = 14
# What is to be ready as its window opens is laid into people's hours no later than this; starting value.
READY_WITHIN_DAYS = 14
# Work of so few minutes is no pile.
SMALL_WORK_MINUTES = 3


def one_day_work(
    rule: Rule,
    step: int,
    window: MemberWindow,
    aim: Aim,
    choice: NoRoom | None,
    room: float,
    years: TreeYears,
) -> Outcome:
    """The day of a work that is done once in a season."""
    shared = years.shared
    wanted = aim.wanted
    over = wanted.last < shared.today or (step < 0 and wanted.aim < shared.today - LATE_DAYS)
    company = _company(rule, step, years)
    outside = outside_after(rule, step, wanted.first - 1, years)
    if outside is not None and wanted.aim <= shared.today and is_winter(step, years):
        now = float(shared.today)
        at_once = ((1, shared.today),)
        return Outcome(rule, step, "planned", None, now, now, at_once, SeenOutside(outside), window=window)
    if over:
        return _gone_by(rule, step, window, aim, choice, years)
    put_off = put_off_until(rule, step, years, wanted.last)
    earliest = max(shared.today, not_before(rule, step, years), rested_until(rule, step, years), put_off)
    day, beside = one_day(rule, wanted, *_days_for(rule, years), company, int(earliest))
    if isinstance(beside, AwayThroughout):
        away = _all_away(aim, years)
        if day is None:
            return Outcome(rule, step, "away", away, window=window)
        beside = AwayThroughout(away.days_off)
    if day is None:
        return Outcome(rule, step, "lost", OrderTooLate(too_long=True), window=window)
    # What lasts keeps the day on which it began, and that is seen to where it is told.
    part = work_part(rule.id, years.frame.season + step, 1)
    before = years.previous.tasks.get(part) if rule.way not in LASTING_WAYS else None
    kept = before is not None and not before.left and before.day >= put_off
    kept = kept and before is not None and _keeps(before.day, day, rule, wanted, window, years)
    if before is not None and kept:
        day = before.day
    ready_by = max(wanted.aim, int(earliest)) + READY_WITHIN_DAYS
    last = min(wanted.last, ready_by) if rule.choose == "ready" else wanted.last
    may_lie = (max(wanted.first, int(earliest)), last)
    laid = years.laid.get(work_part(rule.id, years.frame.season + step, 1))
    fits = laid is not None and may_lie[0] <= laid <= may_lie[1]
    if laid is not None and fits:
        day = laid
    _take(rule, day, years)
    aimed = LaidIntoHours() if fits else AsPublished() if kept else beside or aim.why
    if put_off > shared.today:
        aimed = PutOff(int(put_off))
    return Outcome(
        rule,
        step,
        "planned",
        day=day,
        last_day=day,
        days=((1, day),),
        aimed=aimed,
        window=window,
        may_lie=may_lie,
        choice=choice,
        room=room,
    )


def _company(rule: Rule, step: int, years: TreeYears) -> frozenset[int]:
    """The days of the same work on other trees, and of what is told together with it on this one."""
    company = years.given(rule.id, years.frame.season + step)
    beside = (years.outcomes.get((id, step)) for id in years.rules.told_with(rule))
    return company.union(int(outcome.day) for outcome in beside if outcome is not None and outcome.days)


def _keeps(
    published: int, day: int, rule: Rule, wanted: Wanted, window: MemberWindow, years: TreeYears
) -> bool:
    """Whether the published day stands: right still, and not much worse than the best day now."""
    shared = years.shared
    column = published - years.frame.first_day
    allowed = max(wanted.first, shared.today) <= published <= wanted.last
    if published == day or not allowed or shared.workdays.away[column]:
        return False
    if published <= shared.today + SOON_DAYS or shared.told_hours:
        return True  # where people told hours the laying decides what moves
    gain = day_chance(rule, window, day) - day_chance(rule, window, published)
    return gain < WORTH_MOVING


def _gone_by(
    rule: Rule, step: int, window: MemberWindow, aim: Aim, choice: NoRoom | None, years: TreeYears
) -> Outcome:
    span = aim.wanted.first, aim.wanted.last
    if rule.without_note == "done":
        day = aim.wanted.aim
        return Outcome(rule, step, "presumed", TakenAsDone(*span), day, day, window=window)
    known_from = years.tree.known_from
    # What was to go into shelter before it was known may stand in the cold this very night, and in spring it
    # must come out again: that is asked.
    if known_from is not None and aim.wanted.last < known_from and not rule.moves("winter-bench"):
        return Outcome(rule, step, "past", BeforeKnown(*span), window=window, choice=choice)
    if rule.asks is not None and choice is None:
        return unanswered(rule, step, window, aim, years)
    return Outcome(rule, step, "past", NoNote(*span), window=window, choice=choice)


def repeated_work(rule: Rule, step: int, window: MemberWindow, aim: Aim, years: TreeYears) -> Outcome:
    """The days of a work that comes again and again."""
    shared = years.shared
    season = years.frame.season + step
    done = years.history.works.get((rule.id, season), ())
    company = years.given(rule.id, season)
    args = (rule, aim.wanted, *_days_for(rule, years), company, shared.today, done)
    published = years.published(rule.id, season) if rule.way not in LASTING_WAYS else {}
    if rule.way == "work" and shared.told_hours:
        published = {**published, **_laid_times(rule, season, years)}
    args = (rule, aim.wanted, _without_rests(rule, step, years), *args[3:])
    days = repeated_days(*args, published)
    if not days:
        if done:
            return Outcome(rule, step, "done", LastNoted(done[-1]), done[0], done[-1])
        return _no_round(rule, step, window, aim, years)
    for _, day in days:
        _take(rule, day, years)
    first = done[0] if done else days[0][1]
    every = rule.repeat.every_days if rule.repeat else 0
    aimed = AgainEvery(aim.why, every)
    return Outcome(rule, step, "planned", None, first, days[-1][1], days, aimed, window=window)


def _laid_times(rule: Rule, season: int, years: TreeYears) -> dict[int, int]:
    """The days laid into people's hours, by occurrence."""
    assert rule.repeat is not None
    times = range(1, rule.repeat.at_most + 1)
    days = {time: years.laid.get(work_part(rule.id, season, time)) for time in times}
    return {time: day for time, day in days.items() if day is not None}


def _without_rests(rule: Rule, step: int, years: TreeYears) -> Workdays:
    """The workdays, without those on which what the rule rests in is on in most weather years."""
    workdays, _ = _days_for(rule, years)
    away, first = workdays.away, workdays.first_day
    for id in rule.rests_in:
        other = years.rules.rules.get(id)
        if other is None:
            continue
        opens, closes = raw_ends(other, step, years)
        known = ~np.isnan(opens) & ~np.isnan(closes) & (opens < NEVER)
        begins = np.clip(np.ceil(opens[known]) - first, 0, away.size).astype(np.int64)
        ends = np.clip(np.floor(closes[known]) + 1 - first, begins, away.size).astype(np.int64)
        begun, ended = (np.bincount(columns, minlength=away.size + 1) for columns in (begins, ends))
        on = np.cumsum(begun - ended)[:-1]
        away = away | (on > opens.size / 2)
    return replace(workdays, away=away) if rule.rests_in else workdays


def _no_round(rule: Rule, step: int, window: MemberWindow, aim: Aim, years: TreeYears) -> Outcome:
    """Work that comes again and again has no day: its time is over, or nobody is there in it."""
    shared, wanted = years.shared, aim.wanted
    if wanted.first > wanted.last >= shared.today:
        return Outcome(rule, step, "lost", OrderTooLate(too_long=False), window=window)
    first = max(wanted.first, shared.today) - shared.workdays.first_day
    left = shared.workdays.away[first : wanted.last + 1 - shared.workdays.first_day]
    if left.size and left.all():
        return Outcome(rule, step, "away", _all_away(aim, years), window=window)
    return _gone_by(rule, step, window, aim, None, years)


def _days_for(rule: Rule, years: TreeYears) -> tuple[Workdays, Floats]:
    """The days to choose from, and what the tree has on them: a thing of the walk goes with the walk."""
    if rule.way == "walk":
        return years.shared.walkdays, np.zeros(years.frame.days)
    return years.shared.workdays, years.load


def _take(rule: Rule, day: int, years: TreeYears) -> None:
    if rule.way != "work":
        return
    minutes = getattr(rule.minutes, years.tree.size)
    column = day - years.frame.first_day
    if minutes > SMALL_WORK_MINUTES and 0 <= column < years.frame.days:
        years.take(column)


def _all_away(aim: Aim, years: TreeYears) -> AllAway:
    first, last = aim.wanted.first, aim.wanted.last
    return AllAway(first, last, any(a <= last and first <= b for a, b in years.tree.days_off))
