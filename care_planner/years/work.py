"""One rule for one tree in one season: facts, blocks, rests, window, day."""

from dataclasses import replace

import numpy as np

from care_planner.rulebook.effect import NoRoom
from care_planner.rulebook.moment import SEASON_STEP
from care_planner.rulebook.rule import Rule, WithinRisk
from care_planner.spans import HALF_YEAR_DAYS, NEVER
from care_planner.stages.members import TOO_FEW_YEARS, known_years, quantile
from care_planner.stages.moments import evaluate
from care_planner.stages.reach import Floats
from care_planner.windows.facts import only
from care_planner.windows.window import Ends, MemberWindow, member_window, raw_ends, risk_window
from care_planner.years.choose import Wanted
from care_planner.years.eligible import (
    for_this_tree,
    is_harmful,
    must_wait,
    not_before,
    provided,
    put_off_until,
    rested_until,
)
from care_planner.years.outcome import Outcome
from care_planner.years.place import IRREVERSIBLE_SHARE, Aim, aim_of, due_share, one_day, repeated_days
from care_planner.years.previous import SOON_DAYS, WORTH_MOVING, work_part
from care_planner.years.reasons import (
    AgainEvery,
    AllAway,
    AsPublished,
    AwayThroughout,
    BeforeKnown,
    ClosesTooSoon,
    ComesRarely,
    DecideByEye,
    LaidIntoHours,
    LastNoted,
    LeftForGoal,
    NoChoiceForGoal,
    NoMedianDay,
    NoNote,
    NotedDone,
    NotedSkipped,
    OrderTooLate,
    PutOff,
    SeenOutside,
    TakenAsDone,
    WaitsForAnswer,
    WaitsInVain,
    WeatherNotKnown,
)
from care_planner.years.risks import late_share, nights_ahead
from care_planner.years.silence import is_winter, outside_after, unanswered
from care_planner.years.state import TreeYears
from care_planner.years.workdays import Workdays

# Ways in which a work holds for a time.
LASTING_WAYS = ("watch", "standing")
# Work of a past season is still put on a day if the day it was wanted on is no further back than this.
LATE_DAYS = 14
# Work of so few minutes is no pile.
SMALL_WORK_MINUTES = 3


def outcome_of(rule: Rule, step: int, years: TreeYears) -> Outcome:
    """What becomes of the rule in the season at a step."""
    noted = _noted(rule, step, years)
    if noted is not None:
        return noted
    rule = _in_case(rule, step, years)
    verdict = for_this_tree(rule, step, years)
    if verdict.answer == "no":
        return Outcome(rule, step, "lost", verdict.reason)
    if verdict.answer == "ask":
        return Outcome(rule, step, "asked", verdict.reason, fact=verdict.fact)
    resting_on = provided(rule, step, years)
    if verdict.answer == "maybe" and must_wait(rule, verdict):
        works = tuple(id for id, _ in resting_on) or (verdict.fact,)
        return Outcome(rule, step, "waits", WaitsForAnswer(works))
    ends = raw_ends(rule, step, years)
    window = member_window(rule, step, years, ends, rested_until(rule, step, years))
    if rule.at_risk is not None:
        window = risk_window(window, ends, rule.at_risk)
    if known_years(window.opens, years.frame.rows) < TOO_FEW_YEARS:
        return Outcome(rule, step, "unknown", WeatherNotKnown(), window=window)
    if rule.closes_after is not None and not _closes_after(rule, step, window, ends, years):
        return Outcome(rule, step, "lost", ClosesTooSoon(rule.closes_after), window=window)
    share, needed = due_share(rule, window, years.shared.risks)
    if share < needed or share == 0:
        return _without_window(rule, step, window, ends, years)
    found = _placed(rule, step, window, None, ends, years)
    if resting_on and found.state == "planned" and is_harmful(rule):
        return Outcome(rule, step, "waits", WaitsForAnswer(tuple(id for id, _ in resting_on)), window=window)
    late, sees = late_share(rule, step, found.day, years), nights_ahead(rule, ends[1])
    return replace(found, provided=resting_on, late_share=late, sees=sees)


# The journal comes first.


def _noted(rule: Rule, step: int, years: TreeYears) -> Outcome | None:
    key = (rule.id, years.frame.season + step)
    days = years.history.works.get(key)
    if key in years.history.skipped and days is None:
        return Outcome(rule, step, "lost", NotedSkipped())
    if rule.settled_by and days is None:
        days = _signs_of(rule, step, years)
    if days is None or rule.repeat is not None or outside_after(rule, step, days[-1], years) is not None:
        return None
    late = _late_after(rule, step, days[-1], years)
    share = late_share(rule, step, days[0], years)
    why = NotedDone(days[0])
    return Outcome(rule, step, "done", why, days[0], days[-1], late_after=late, late_share=share)


def _signs_of(rule: Rule, step: int, years: TreeYears) -> tuple[int, ...] | None:
    """The days on which a look was answered by a sign: from the season's midsummer to the next one's."""
    first = years.frame.start_of(step) + HALF_YEAR_DAYS
    season = years.frame.season + step
    days = [years.history.signs.get((sign, at)) for sign in rule.settled_by for at in (season, season + 1)]
    found = sorted(day for day in days if day is not None and first <= day < first + 2 * HALF_YEAR_DAYS)
    return tuple(found) or None


def _late_after(rule: Rule, step: int, day: int, years: TreeYears) -> float | None:
    """The day its window had closed in half the members, if that is asked for and before a day."""
    roots = rule.heavy and rule.kind == "roots"
    if not roots and rule.if_late is None and not any(effect.if_late for effect in rule.effects):
        return None
    closes = quantile(raw_ends(rule, step, years)[1], 0.5)
    return closes if closes < day else None


def _in_case(rule: Rule, step: int, years: TreeYears) -> Rule:
    for case in rule.cases:
        if only(case.only, years.all_facts(step)).answer == "yes":
            return rule.in_case(case)
    return rule


# The window and its day.


def _without_window(rule: Rule, step: int, window: MemberWindow, ends: Ends, years: TreeYears) -> Outcome:
    """It comes too rarely, or there is no room for it: then the goal's choice decides."""
    if rule.irreversible and window.exists >= 0.5:
        return Outcome(rule, step, "by-eye", DecideByEye(window.exists, IRREVERSIBLE_SHARE), window=window)
    if window.squeezed < 0.5 or not rule.no_room:
        waits = _waits_in_vain(rule, step, years)
        if window.exists == window.squeezed == 0 and waits:
            return Outcome(rule, step, "rare", WaitsInVain(tuple(waits)), window=window)
        rarely = ComesRarely(window.exists, squeezed=window.squeezed >= 0.5)
        return Outcome(rule, step, "rare", rarely, window=window)
    goal = years.tree.goal(step)
    choice = next((c for c in rule.no_room if goal in c.goal), None)
    if choice is None or choice.work == "none":
        reason = LeftForGoal(choice.says) if choice else NoChoiceForGoal(goal)
        return Outcome(rule, step, "no-room", reason, window=window, choice=choice, room=window.exists)
    return _placed(rule, step, _chosen_window(choice, *ends), choice, ends, years)


def _waits_in_vain(rule: Rule, step: int, years: TreeYears) -> list[str]:
    """The works that its opening names, where none of them counts."""
    found = []
    for part in rule.opens.walk():
        if part.work is not None:
            other = years.outcomes.get((part.work, step + SEASON_STEP[part.season]))
            if other is not None and other.counts:
                return []
            found.append(part.work)
    return found


def _placed(
    rule: Rule, step: int, window: MemberWindow, choice: NoRoom | None, ends: Ends, years: TreeYears
) -> Outcome:
    room = member_window(rule, step, years, ends, -np.inf).exists if choice is not None else 1.0
    if choice is not None and not np.isfinite(window.median("opens")):
        return Outcome(
            rule, step, "no-room", LeftForGoal(choice.says), window=window, choice=choice, room=room
        )
    put_off = put_off_until(rule, step, years, window.median("closes"))
    aim = aim_of(rule, window, years.shared.risks, max(not_before(rule, step, years), put_off))
    if aim is None:
        return Outcome(rule, step, "rare", NoMedianDay(), window=window)
    if rule.repeat is not None:
        return _repeated(rule, step, window, aim, years)
    return _single(rule, step, window, aim, choice, room, years)


def _closes_after(rule: Rule, step: int, window: MemberWindow, ends: Ends, years: TreeYears) -> bool:
    assert rule.closes_after is not None
    moment = evaluate(rule.closes_after, step, years)
    known = ~np.isnan(moment) & ~np.isnan(window.closes)
    # A member without a window closes NEVER: its own close is asked for, not that.
    return bool(known.any()) and float(np.mean(ends[1][known] > moment[known])) >= 0.5


def _single(
    rule: Rule,
    step: int,
    window: MemberWindow,
    aim: Aim,
    choice: NoRoom | None,
    room: float,
    years: TreeYears,
) -> Outcome:
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
    may_lie = (max(wanted.first, int(earliest)), wanted.last)
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
    # What was to go into shelter before it was known may stand in the cold this very night: that is asked.
    may_freeze = is_winter(step, years) and any(e.moves_to == "winter-bench" for e in rule.effects)
    if known_from is not None and aim.wanted.last < known_from and not may_freeze:
        return Outcome(rule, step, "past", BeforeKnown(*span), window=window, choice=choice)
    if rule.asks is not None and choice is None:
        return unanswered(rule, step, window, aim, years)
    return Outcome(rule, step, "past", NoNote(*span), window=window, choice=choice)


def _repeated(rule: Rule, step: int, window: MemberWindow, aim: Aim, years: TreeYears) -> Outcome:
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


def _chosen_window(choice: NoRoom, opens: np.ndarray, closes: np.ndarray) -> MemberWindow:
    """The days a choice works in: the last ones before the close, or the first ones after the opening."""
    if choice.work == "before-it-closes":
        return MemberWindow(np.where(closes > -np.inf, closes - choice.lasts_days, NEVER), closes, 0.0)
    return MemberWindow(opens, opens + choice.lasts_days, 0.0)


def chance(outcome: Outcome, day: int) -> float:
    """The share of members in which a day is right: inside the member's own window.

    For work set by a risk only the side that the risk is about counts: before the deadline, or after
    the last night.
    """
    assert outcome.window is not None
    return day_chance(outcome.rule, outcome.window, day)


def day_chance(rule: Rule, window: MemberWindow, day: int) -> float:
    """`chance` for a day that need not be the one chosen."""
    choose = rule.choose
    late = isinstance(choose, WithinRisk) and choose.latest_within_risk is not None
    early = isinstance(choose, WithinRisk) and not late
    return window.share_holding(day, closes_only=late, opens_only=early)
