"""What a day may cost: cold nights ahead of a move into shelter, and flowers that a late cut takes."""

import numpy as np

from care_planner.rulebook.rule import Rule
from care_planner.spans import HALF_YEAR_DAYS
from care_planner.stages.members import quantile
from care_planner.stages.moments import evaluate
from care_planner.stages.reach import Floats
from care_planner.years.outcome import Nights
from care_planner.years.state import TreeYears


def nights_ahead(rule: Rule, closes: Floats) -> Nights | None:
    """When the night comes that a move into shelter looks out for; None for other work.

    `closes` [members] are those of the rule as evaluated.
    """
    night = rule.closes.first_night
    if night is None or not rule.moves("winter-bench"):
        return None
    days = closes - rule.closes.plus_days
    in_ten, in_two = (quantile(days, share) for share in (0.1, 0.5))
    return Nights(
        int(in_ten) if np.isfinite(in_ten) else None,
        int(in_two) if np.isfinite(in_two) else None,
    )


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
    # Where no day is free, the first of the season's second quarter stands for it.
    free = max(free, years.frame.start_of(step) + HALF_YEAR_DAYS / 2)
    return float(min(max((day - free) / max(everything - free, 1.0), 0.0), 1.0))
