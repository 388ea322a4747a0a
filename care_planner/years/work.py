"""One rule for one tree in one season: facts, blocks, rests, window, day."""

from dataclasses import replace

import numpy as np

from care_planner.rulebook.effect import NoRoom
from care_planner.rulebook.moment import SEASON_STEP
from care_planner.rulebook.rule import Rule, WithinRisk
from care_planner.spans import HALF_YEAR_DAYS, NEVER
from care_planner.stages.members import TOO_FEW_YEARS, known_years, quantile
from care_planner.stages.moments import evaluate
from care_planner.windows.facts import only
from care_planner.windows.window import MemberWindow, member_window, raw_ends, risk_window
from care_planner.windows.words import day_words, moment_words, short_day
from care_planner.years.choose import Wanted
from care_planner.years.eligible import (
    for_this_tree,
    is_harmful,
    must_wait,
    not_before,
    provided,
    rested_until,
)
from care_planner.years.outcome import Nights, Outcome
from care_planner.years.place import AWAY, Aim, aim_of, due_share, one_day, repeated_days
from care_planner.years.previous import SOON_DAYS, WORTH_MOVING, work_part
from care_planner.years.state import STANDS_OUTSIDE, TreeYears
from care_planner.years.workdays import Workdays

# Work of a past season is still put on a day if the day it was wanted on is no further back than this.
LATE_DAYS = 14
# A question lapses with its season, but not sooner than this after the work's time.
LAPSES_DAYS = 90
# Up to this many days after midwinter a tree that stands outside is in danger: common practice, no source.
WINTER_DAYS = 75
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
    if verdict.answer == "maybe" and must_wait(rule, verdict):
        return Outcome(rule, step, "waits", f"it waits for an answer: {verdict.reason}", fact=verdict.fact)
    window = member_window(rule, step, years, rested_until(rule, step, years))
    if rule.at_risk is not None:
        window = risk_window(window, *raw_ends(rule, step, years), rule.at_risk)
    if known_years(window.opens, years.frame.rows) < TOO_FEW_YEARS:
        return Outcome(rule, step, "unknown", "the weather it needs is not known", window=window)
    if rule.closes_after is not None and not _closes_after(rule, step, window, years):
        reason = f"it would close before {moment_words(rule.closes_after)} in most years"
        return Outcome(rule, step, "lost", reason, window=window)
    share, needed = due_share(rule, window, years.shared.risks)
    if share < needed or share == 0:
        return _without_window(rule, step, window, years)
    found = _placed(rule, step, window, None, years)
    resting_on = provided(rule, step, years)
    if resting_on and found.state == "planned" and is_harmful(rule):
        return Outcome(
            rule, step, "waits", f"it waits for an answer: whether {resting_on[0][0]} was done", window=window
        )
    return replace(
        found,
        provided=resting_on,
        late_share=late_share(rule, step, found.day, years),
        sees=_nights(rule, step, years),
    )


def _nights(rule: Rule, step: int, years: TreeYears) -> Nights | None:
    """What a move into shelter looks out for: its limit, and when such a night comes."""
    night = rule.closes.first_night
    if night is None or not any(effect.moves_to == "winter-bench" for effect in rule.effects):
        return None
    limit = years.frost_limit_c(step) if isinstance(night.at_most_c, str) else float(night.at_most_c)
    days = raw_ends(rule, step, years)[1] - rule.closes.plus_days
    in_ten, in_two = (quantile(days, share) for share in (0.1, 0.5))
    return Nights(
        limit,
        years.tree.bench,
        int(in_ten) if np.isfinite(in_ten) else None,
        int(in_two) if np.isfinite(in_two) else None,
    )


# The journal comes first.


def _noted(rule: Rule, step: int, years: TreeYears) -> Outcome | None:
    key = (rule.id, years.frame.season + step)
    if key in years.history.skipped:
        return Outcome(rule, step, "lost", "noted as not to be done this season")
    days = years.history.works.get(key)
    if rule.settled_by and days is None:
        days = _signs_of(rule, step, years)
    if days is None or rule.repeat is not None or _outside_after(rule, step, days[-1], years) is not None:
        return None
    late = _late_after(rule, step, days[-1], years)
    reason = f"noted as done on {day_words(days[0])}"
    share = late_share(rule, step, days[0], years)
    return Outcome(rule, step, "done", reason, days[0], days[-1], late_after=late, late_share=share)


def _signs_of(rule: Rule, step: int, years: TreeYears) -> tuple[int, ...] | None:
    """The days on which a look was answered by a sign: from the season's midsummer to the next one's."""
    first = years.frame.start_of(step) + HALF_YEAR_DAYS
    season = years.frame.season + step
    days = [years.history.signs.get((sign, at)) for sign in rule.settled_by for at in (season, season + 1)]
    found = sorted(day for day in days if day is not None and first <= day < first + 2 * HALF_YEAR_DAYS)
    return tuple(found) or None


def _outside_after(rule: Rule, step: int, day: float, years: TreeYears) -> int | None:
    """The last day in a winter on which a note says that a tree stands outside, later than a `day`."""
    if not any(effect.moves_to == "winter-bench" for effect in rule.effects):
        return None
    winter_ends = years.frame.start_of(step + 1) + WINTER_DAYS
    seen = [at for (id, _), at in years.history.signs.items() if id == STANDS_OUTSIDE]
    seen += [at for at, bench in years.history.moves if bench == years.tree.bench]
    return max((at for at in seen if day < at < winter_ends), default=None)


def late_share(rule: Rule, step: int, day: float, years: TreeYears) -> float:
    """What a day costs of what the rule names, 0 to 1: evenly more from the last free day on."""
    if rule.late is None or not np.isfinite(day):
        return 0.0
    free, everything = (
        quantile(evaluate(moment, step, years), 0.5) for moment in (rule.late.free_until, rule.late.all_from)
    )
    if np.isnan(free) or np.isnan(everything) or day <= free:
        return 0.0
    if day >= everything or everything <= free:
        return 1.0
    # Where no day is free the first of the season's second quarter stands for it.
    free = max(free, years.frame.start_of(step) + HALF_YEAR_DAYS / 2)
    return float(min(max((day - free) / max(everything - free, 1.0), 0.0), 1.0))


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


def _without_window(rule: Rule, step: int, window: MemberWindow, years: TreeYears) -> Outcome:
    """It comes too rarely, or there is no room for it: then the goal's choice decides."""
    if rule.irreversible and window.exists >= 0.5:
        often = f"it comes up in {window.exists:.0%} of the weather years"
        reason = f"{often}; what cannot be undone is planned where four in five have room: decide by eye"
        return Outcome(rule, step, "by-eye", reason, window=window)
    if window.squeezed < 0.5 or not rule.no_room:
        waits = _waits_in_vain(rule, step, years)
        if window.exists == window.squeezed == 0 and waits:
            reason = f"it waits for {' or '.join(waits)}, which does not come"
            return Outcome(rule, step, "rare", reason, window=window)
        often = f"in {window.exists:.0%} of the weather years only"
        if window.squeezed >= 0.5:
            return Outcome(rule, step, "rare", f"it would close before it opens; {often}", window=window)
        return Outcome(rule, step, "rare", f"it comes up {often}", window=window)
    goal = years.tree.goal(step)
    choice = next((c for c in rule.no_room if goal in c.goal), None)
    if choice is None or choice.work == "none":
        reason = choice.says if choice else f"no room, and the pack has no choice for {goal}"
        return Outcome(rule, step, "no-room", reason, window=window, choice=choice, room=window.exists)
    return _placed(rule, step, _chosen_window(choice, *raw_ends(rule, step, years)), choice, years)


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


def _placed(rule: Rule, step: int, window: MemberWindow, choice: NoRoom | None, years: TreeYears) -> Outcome:
    room = member_window(rule, step, years, -np.inf).exists if choice is not None else 1.0
    if choice is not None and not np.isfinite(window.median("opens")):
        return Outcome(rule, step, "no-room", choice.says, window=window, choice=choice, room=room)
    aim = aim_of(rule, window, years.shared.risks, not_before(rule, step, years))
    if aim is None:
        return Outcome(rule, step, "rare", "it comes up in few weather years only", window=window)
    if rule.repeat is not None:
        return _repeated(rule, step, window, aim, years)
    return _single(rule, step, window, aim, choice, room, years)


def _closes_after(rule: Rule, step: int, window: MemberWindow, years: TreeYears) -> bool:
    assert rule.closes_after is not None
    moment = evaluate(rule.closes_after, step, years)
    known = ~np.isnan(moment) & ~np.isnan(window.closes)
    # A member without a window closes NEVER: its own close is asked for, not that.
    closes = raw_ends(rule, step, years)[1]
    return bool(known.any()) and float(np.mean(closes[known] > moment[known])) >= 0.5


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
    company = shared.board.given(rule.id, years.frame.season + step)
    outside = _outside_after(rule, step, wanted.first - 1, years)
    if outside is not None and wanted.aim <= shared.today <= years.frame.start_of(step + 1) + WINTER_DAYS:
        words = f"at once: it was noted as standing outside on {day_words(outside)}"
        today = float(shared.today)
        days = ((1, shared.today),)
        return Outcome(rule, step, "planned", "", today, today, days, words, window=window)
    if over:
        return _gone_by(rule, step, window, aim, choice, years)
    earliest = max(shared.today, not_before(rule, step, years), rested_until(rule, step, years))
    day, note = one_day(rule, wanted, shared.workdays, years.load, company, int(earliest))
    if day is None and note == AWAY:
        return Outcome(rule, step, "away", f"{AWAY}, {_span_words(aim)}", window=window)
    if day is None:
        return Outcome(
            rule, step, "lost", "what must come first ends too long after its window", window=window
        )
    before = years.previous.tasks.get(work_part(rule.id, years.frame.season + step, 1))
    kept = before is not None and _keeps(before.day, day, rule, wanted, window, years)
    if before is not None and kept:
        day = before.day
    _take(rule, day, years)
    words = "as published before" if kept else note or aim.words
    return Outcome(
        rule,
        step,
        "planned",
        day=day,
        last_day=day,
        days=((1, day),),
        aimed=words,
        window=window,
        choice=choice,
        room=room,
    )


def _keeps(
    published: int, day: int, rule: Rule, wanted: Wanted, window: MemberWindow, years: TreeYears
) -> bool:
    """Whether the published day stands: right still, and not much worse than the best day now."""
    shared = years.shared
    column = published - years.frame.first_day
    allowed = max(wanted.first, shared.today) <= published <= wanted.last
    if published == day or not allowed or shared.workdays.away[column]:
        return False
    if published <= shared.today + SOON_DAYS:
        return True
    gain = day_chance(rule, window, day) - day_chance(rule, window, published)
    return gain < WORTH_MOVING


def _gone_by(
    rule: Rule, step: int, window: MemberWindow, aim: Aim, choice: NoRoom | None, years: TreeYears
) -> Outcome:
    span = _span_words(aim)
    if rule.without_note == "done":
        day = aim.wanted.aim
        return Outcome(rule, step, "presumed", f"taken as done, {span}", day, day, window=window)
    known_from = years.tree.known_from
    if known_from is not None and aim.wanted.last < known_from:
        reason = f"its time was {span}, before the tree was known"
    elif rule.asks is not None and choice is None:
        return _unanswered(rule, step, window, aim, years)
    else:
        reason = f"its time was {span}; no note says that it was done, so it counts as not done"
    return Outcome(rule, step, "past", reason, window=window, choice=choice)


def _unanswered(rule: Rule, step: int, window: MemberWindow, aim: Aim, years: TreeYears) -> Outcome:
    """Work that matters, of which no note says whether it was done: asked for until its season is over."""
    shared, last = years.shared, aim.wanted.last
    lapses = max(years.frame.start_of(step + 1), last + LAPSES_DAYS)
    span = _span_words(aim)
    moves = any(effect.moves_to is not None for effect in rule.effects)
    if moves:  # asked until nobody can stand in the shelter any more; then it was in, as most are
        lapses = years.frame.start_of(step + 1) + HALF_YEAR_DAYS
    if shared.silence != "ask" or (moves and shared.today >= lapses):
        day = float(aim.wanted.aim)
        return Outcome(rule, step, "presumed", f"taken as done, {span}", day, day, window=window)
    if shared.today >= lapses:
        reason = f"its time was {span}; nobody said that it was done, so it counts as not done"
        return Outcome(rule, step, "past", reason, window=window)
    reason = f"its time was {span}; whether it was done is asked"
    return Outcome(rule, step, "open", reason, float(aim.wanted.aim), float(last), window=window)


def _repeated(rule: Rule, step: int, window: MemberWindow, aim: Aim, years: TreeYears) -> Outcome:
    shared = years.shared
    season = years.frame.season + step
    done = years.history.works.get((rule.id, season), ())
    company = shared.board.given(rule.id, season)
    args = (rule, aim.wanted, shared.workdays, years.load, company, shared.today, done)
    published = {
        int(part.split("/")[2]): task.day
        for part, task in years.previous.tasks.items()
        if (task.rule, task.season, task.kind) == (rule.id, season, "work")
    }
    args = (rule, aim.wanted, _without_rests(rule, step, years), *args[3:])
    days = repeated_days(*args, published)
    if not days:
        if done:
            return Outcome(rule, step, "done", f"last noted on {day_words(done[-1])}", done[0], done[-1])
        return _no_round(rule, step, window, aim, years)
    for _, day in days:
        _take(rule, day, years)
    first = done[0] if done else days[0][1]
    every = rule.repeat.every_days if rule.repeat else 0
    words = f"{aim.words}, then every {every} days"
    return Outcome(rule, step, "planned", "", first, days[-1][1], days, words, window=window)


def _without_rests(rule: Rule, step: int, years: TreeYears) -> Workdays:
    """The workdays, without those on which what the rule rests in is on in most weather years."""
    shared = years.shared
    away = shared.workdays.away
    for id in rule.rests_in:
        other = years.rules.rules.get(id)
        if other is None:
            continue
        opens, closes = raw_ends(other, step, years)
        known = ~np.isnan(opens) & ~np.isnan(closes) & (opens < NEVER)
        days = np.arange(away.size) + shared.workdays.first_day
        on = (opens[known, None] <= days) & (days <= closes[known, None])
        if on.size:
            away = away | (on.sum(axis=0) > opens.size / 2)
    return replace(shared.workdays, away=away)


def _no_round(rule: Rule, step: int, window: MemberWindow, aim: Aim, years: TreeYears) -> Outcome:
    """Work that comes again and again has no day: its time is over, or nobody is there in it."""
    shared, wanted = years.shared, aim.wanted
    if wanted.first > wanted.last >= shared.today:
        return Outcome(rule, step, "lost", "what must come first ends after its window", window=window)
    first = max(wanted.first, shared.today) - shared.workdays.first_day
    left = shared.workdays.away[first : wanted.last + 1 - shared.workdays.first_day]
    if left.size and left.all():
        return Outcome(rule, step, "away", f"{AWAY}, {_span_words(aim)}", window=window)
    return _gone_by(rule, step, window, aim, None, years)


def _take(rule: Rule, day: int, years: TreeYears) -> None:
    minutes = getattr(rule.minutes, years.tree.size)
    column = day - years.frame.first_day
    if minutes > SMALL_WORK_MINUTES and 0 <= column < years.load.size:
        years.load[column] += 1


def _span_words(aim: Aim) -> str:
    return f"{short_day(aim.wanted.first)} to {day_words(aim.wanted.last)}"


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
