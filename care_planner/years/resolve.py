"""One tree's years: stages and works taken in the order in which they wait for one another.

window -> day -> what hangs on that day.
"""

from functools import partial

from care_planner.rulebook.pack import Node
from care_planner.spans import HALF_YEAR_DAYS
from care_planner.stages.reach import Floats
from care_planner.stages.stage import effects_on, stage_days
from care_planner.windows.facts import MAYBE
from care_planner.years.neighbour import compare, stand_beside
from care_planner.years.outcome import Outcome
from care_planner.years.state import TreeYears, mark_of
from care_planner.years.witness import shared_by_answers
from care_planner.years.work import outcome_of

YEAR_DAYS = 365.25  # a Julian year
# From midwinter, where a season begins, to the middle of its spring, when roots are worked; in days.
MID_SPRING_DAYS = 105
# Root pruning is due from a third of a year before its years are over, so that a late one costs no season.
DUE_EARLY_YEARS = 0.35


def resolve(years: TreeYears) -> TreeYears:
    """Take every node in order; fills the state handed in and gives it back."""
    stand_beside(years)
    kept = years.shared.kept
    for node in years.rules.order:
        name = (years.rules.id, node)
        if node.kind == "stage":
            days = shared_by_answers(name, years, kept, partial(_stage_days, node))
            years.reach(node.id, node.step, *days)
        elif node.kind == "rule":
            years.settle(node.id, node.step, shared_by_answers(name, years, kept, partial(_outcome, node)))
        else:
            years.facts[node.id, node.step] = _fact(node.id, node.step, years)
        compare(name, node, years)
    return years


def _outcome(node: Node, years: TreeYears) -> Outcome:
    return outcome_of(years.rules.rules[node.id], node.step, years)


def _stage_days(node: Node, years: TreeYears) -> tuple[Floats, bytes]:
    stage = years.rules.stages[node.id]
    effects = (
        (effect, outcome.day)
        for id, step, effect in effects_on(node.id, node.step, years.rules)
        if (outcome := years.outcomes.get((id, step))) is not None
        and outcome.counts
        and effect in outcome.effects
    )
    buds = years.facts.get(("buds", node.step)) != "none"
    before = [id for id, _ in years.rules.in_row.get(node.id, ())]
    days = stage_days(stage, node.step, years, years.history, effects, buds, before)
    return days, mark_of(days)


def _fact(id: str, step: int, years: TreeYears) -> str:
    if id == "roots_worked":
        if _heavy_roots(step, years):
            return "yes"
        return MAYBE if any(o.is_open and o.rule.kind == "roots" for o in _of_season(step, years)) else "no"
    if id == "cut":
        cut = any(e.cuts_shoots and o.rule.heavy and o.counts for o, e in years.effects_in(step))
        return "yes" if cut else "no"
    if id == "repot":
        return _repot_due(step, years)
    none = not years.rules.taxon.flowers or any(
        effect.set is not None and getattr(effect.set, id) == "none" for _, effect in years.effects_in(step)
    )
    if id == "buds":
        seen = _buds_seen(step, years)
        return seen or ("none" if none else "present")
    return "none" if none or years.facts.get(("buds", step)) == "none" else "expected"


def _of_season(step: int, years: TreeYears) -> list[Outcome]:
    return [outcome for (_, at), outcome in years.outcomes.items() if at == step]


def _buds_seen(step: int, years: TreeYears) -> str:
    """What the last look at the buds said of a season, `present` or `none`; empty where there was none, or
    where work took the buds after it."""
    midsummer = years.frame.start_of(step - 1) + HALF_YEAR_DAYS
    found: list[tuple[int, str]] = []
    for rule in years.rules.rules.values():
        for sign, told in rule.settled_by.items():
            for season in (years.frame.season + step - 1, years.frame.season + step):
                day = years.history.signs.get((sign, season))
                if day is not None and midsummer <= day < midsummer + 2 * HALF_YEAR_DAYS:
                    found.append((day, told))
    if not found:
        return ""
    last, says = max(found)
    takes = (o.day for o, effect in years.effects_in(step) if effect.set is not None and effect.set.buds)
    return "" if any(at > last for at in takes) else says


def _heavy_roots(step: int, years: TreeYears) -> list[Outcome]:
    return [
        o
        for (_, at), o in years.outcomes.items()
        if at == step and o.rule.heavy and o.rule.kind == "roots" and o.counts
    ]


def _repot_due(step: int, years: TreeYears) -> str:
    every = years.tree.repot_years(years.rules.taxon)
    worked = [o.day for at in range(-2, step) for o in _heavy_roots(at, years)]
    if years.tree.last_repot is not None:
        worked.append(float(years.tree.last_repot))
    before = [day for day in worked if day < years.frame.start_of(step + 1)]
    if every is None or not before:
        return "not-told"
    # Seasons, not days: work of late March is due again in early March, but what was potted in September is
    # not worked again in April.
    since = years.frame.start_of(step) + MID_SPRING_DAYS - max(before)
    return "due" if since >= YEAR_DAYS * (every - DUE_EARLY_YEARS) else "not-due"
