"""One rule for one tree in one season: facts, blocks, rests, window; its day comes from `set_day.py`."""

from dataclasses import replace

import numpy as np

from care_planner.rulebook.effect import NoRoom
from care_planner.rulebook.moment import SEASON_STEP
from care_planner.rulebook.rule import Rule
from care_planner.spans import NEVER
from care_planner.stages.members import TOO_FEW_YEARS, known_years
from care_planner.stages.moments import evaluate
from care_planner.windows.facts import only
from care_planner.windows.window import Ends, MemberWindow, member_window, raw_ends, risk_window
from care_planner.years.eligible import (
    for_this_tree,
    is_harmful,
    must_wait,
    not_before,
    provided,
    put_off_until,
    rested_until,
)
from care_planner.years.noted_work import noted_outcome
from care_planner.years.outcome import Outcome
from care_planner.years.place import IRREVERSIBLE_SHARE, aim_of, due_share
from care_planner.years.reasons import (
    ClosesTooSoon,
    ComesRarely,
    DecideByEye,
    LeftForGoal,
    NoChoiceForGoal,
    NoMedianDay,
    WaitsForAnswer,
    WaitsInVain,
    WeatherNotKnown,
)
from care_planner.years.risks import late_share, nights_ahead
from care_planner.years.set_day import one_day_work, repeated_work
from care_planner.years.state import TreeYears


def outcome_of(rule: Rule, step: int, years: TreeYears) -> Outcome:
    """What becomes of the rule in the season at a step."""
    noted = noted_outcome(rule, step, years)
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


def _in_case(rule: Rule, step: int, years: TreeYears) -> Rule:
    for case in rule.cases:
        if only(case.only, years.all_facts(step)).answer == "yes":
            return rule.in_case(case)
    return rule


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
        return repeated_work(rule, step, window, aim, years)
    return one_day_work(rule, step, window, aim, choice, room, years)


def _closes_after(rule: Rule, step: int, window: MemberWindow, ends: Ends, years: TreeYears) -> bool:
    assert rule.closes_after is not None
    moment = evaluate(rule.closes_after, step, years)
    known = ~np.isnan(moment) & ~np.isnan(window.closes)
    # A member without a window closes NEVER: its own close is asked for, not that.
    return bool(known.any()) and float(np.mean(ends[1][known] > moment[known])) >= 0.5


def _chosen_window(choice: NoRoom, opens: np.ndarray, closes: np.ndarray) -> MemberWindow:
    """The days a choice works in: the last ones before the close, or the first ones after the opening."""
    if choice.work == "before-it-closes":
        return MemberWindow(np.where(closes > -np.inf, closes - choice.lasts_days, NEVER), closes, 0.0)
    return MemberWindow(opens, opens + choice.lasts_days, 0.0)
