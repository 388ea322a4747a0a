"""What a person should be told beside the dates: facts asked for, choices made, what came too late."""

from collections import defaultdict
from collections.abc import Iterator

import numpy as np

from care_planner.stages.members import quantile
from care_planner.tasks.reasons import choice_words
from care_planner.windows.window import raw_ends
from care_planner.windows.words import day_words
from care_planner.years.outcome import Outcome
from care_planner.years.state import TreeYears


def what_to_tell(years: TreeYears) -> list[str]:
    """What a person should be told: facts asked for, choices made, weather missing."""
    seasons: defaultdict[str, list[int]] = defaultdict(list)
    asked: defaultdict[str, set[str]] = defaultdict(set)
    for (id, step), outcome in years.outcomes.items():
        season = years.frame.season + step
        if step in (-1, 0):
            for words in _carried_over(id, outcome, years):
                seasons[words].append(season)
        if step not in (0, 1):
            continue
        roots = _after_late_roots(id, outcome, years)
        if roots:
            seasons[roots].append(season)
        elif outcome.state == "asked":
            asked[outcome.reason].add(id)
        elif outcome.state == "unknown":
            seasons[f"{id}: unknown, {outcome.reason}"].append(season)
        elif outcome.state == "away":
            seasons[f"{id}: {outcome.reason}"].append(season)
        elif outcome.rule.closes_before is not None and outcome.state == "planned":
            seasons[_given_up(id, outcome)].append(season)
        elif outcome.choice is not None:
            seasons[f"{id}: {'. '.join(choice_words(outcome))}"].append(season)
    said = [f"{' and '.join(map(str, sorted(held)))}, {words}" for words, held in seasons.items()]
    if years.tree.age is None:
        said.append("age is not told: its shelter goes by a young tree's frost limit")
    return said + [f"{reason}; needed for {', '.join(sorted(ids))}" for reason, ids in asked.items()]


def _given_up(id: str, outcome: Outcome) -> str:
    """A choice that the goal has made already: what it is, what it costs, in how many years it is needed."""
    assert outcome.window is not None
    why = " ".join(outcome.rule.why.split())
    return f"{id}: needed in {outcome.window.exists:.0%} of the weather years. {why}"


def _carried_over(id: str, outcome: Outcome, years: TreeYears) -> Iterator[str]:
    """What was done too late, or noted as left undone, and is felt until the next spring."""
    late = [effect.set for effect in outcome.rule.effects if effect.if_late and effect.set is not None]
    if outcome.late_after is not None and late:
        done, last = day_words(outcome.last_day), day_words(outcome.late_after)
        cost = "no flower buds next spring" if any(fact.buds == "none" for fact in late) else "too late"
        yield f"{id} was done on {done}, after its last day, {last}: {cost}"
    skipped = (id, years.frame.season + outcome.step) in years.history.skipped
    if skipped and outcome.rule.if_skipped is not None:
        yield f"{id} was skipped: {outcome.rule.if_skipped}"


def _after_late_roots(id: str, outcome: Outcome, years: TreeYears) -> str:
    """What becomes of a work that late root work stands against: the goal's choice, and what others cost."""
    at = outcome.step
    late = [o for (_, step), o in years.outcomes.items() if step == at and o.rule.kind == "roots"]
    roots = next((o for o in late if o.rule.heavy and o.late_after is not None), None)
    if roots is None or outcome.state != "lost" or not outcome.rule.after_late_roots:
        return ""
    opens, closes = (quantile(days, 0.5) for days in raw_ends(outcome.rule, at, years))
    words = f"{id}: not after {roots.rule.id} as late as {day_words(roots.last_day)}"
    if np.isfinite(opens) and np.isfinite(closes):
        room = f"{(closes - opens) / 7:.0f} weeks" if closes - opens >= 7 else "no time"
        words += (
            f". It would open about {day_words(opens)} and close {day_words(closes)}, so that new buds get "
            f"their warmth: {room} between"
        )
    goal = years.tree.goal(at)
    for choice in sorted(outcome.rule.after_late_roots, key=lambda choice: goal not in choice.goal):
        which = "The goal decides" if goal in choice.goal else f"With the goal {' or '.join(choice.goal)}"
        words += f". {which}: {choice.says}; it costs {choice.costs}"
    return words
