"""One tree's years: stages and works taken in the order in which they wait for one another.

window -> day -> what hangs on that day.
"""

from care_planner.rulebook.pack import Node
from care_planner.stages.reach import Floats
from care_planner.stages.stage import effects_on, stage_days
from care_planner.years.outcome import Outcome
from care_planner.years.state import TreeYears
from care_planner.years.work import outcome_of

YEAR_DAYS = 365.25  # a Julian year
# From midwinter, where a season begins, to its middle, in days.
MID_SEASON_DAYS = 183
# Root pruning is due from half a year before its years are over, so that a late one does not cost a season.
DUE_EARLY_YEARS = 0.5


def resolve(years: TreeYears) -> TreeYears:
    """Take every node in order; fills the state handed in and gives it back."""
    for node in years.rules.order:
        if node.kind == "stage":
            years.stages[node.id, node.step] = _stage_days(node, years)
        elif node.kind == "rule":
            years.outcomes[node.id, node.step] = outcome_of(years.rules.rules[node.id], node.step, years)
        else:
            years.facts[node.id, node.step] = _fact(node.id, node.step, years)
    return years


def _stage_days(node: Node, years: TreeYears) -> Floats:
    stage = years.rules.stages[node.id]
    effects = (
        (effect, outcome.day)
        for id, step, effect in effects_on(node.id, node.step, years.rules)
        if (outcome := years.outcomes.get((id, step))) is not None
        and outcome.counts
        and effect in outcome.effects()
    )
    buds = years.facts.get(("buds", node.step)) != "none"
    before = [id for id, _ in years.rules.in_row.get(node.id, ())]
    return stage_days(stage, node.step, years, years.history, effects, buds, before)


def _fact(id: str, step: int, years: TreeYears) -> str:
    if id == "roots_worked":
        return "yes" if _heavy_roots(step, years) else "no"
    if id == "cut":
        cut = any(e.cuts_shoots and o.rule.heavy and o.counts for o, e in years.effects_in(step))
        return "yes" if cut else "no"
    if id == "repot":
        return _repot_due(step, years)
    none = not years.rules.taxon.flowers or any(
        effect.set is not None and getattr(effect.set, id) == "none" for _, effect in years.effects_in(step)
    )
    if id == "buds":
        return "none" if none else "present"
    return "none" if none or years.facts.get(("buds", step)) == "none" else "expected"


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
    # Seasons, not days: work of late March is due again in early March.
    since = years.frame.start_of(step) + MID_SEASON_DAYS - max(before)
    return "due" if since >= YEAR_DAYS * (every - DUE_EARLY_YEARS) else "not-due"
