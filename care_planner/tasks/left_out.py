"""Why a work found no day in the hours that people have."""

from typing import Literal

import numpy as np

from care_planner.years.hours.problem import HoursProblem, Laid, kinds_on, minutes_on

# No day of its window has hours; it takes longer than any of them has; the days with time for it hold as many
# kinds of work as one can live with; other works take the time.
LeftBecause = Literal["no-day", "too-long", "kinds", "hours"]


def left_because(problem: HoursProblem, answer: Laid, p: int) -> LeftBecause:
    """What kept a class of works from its days."""
    own = np.isfinite(problem.loss[p])
    if not own.any():
        return "no-day"
    asks = problem.minutes[p] + problem.setup[problem.kind[p]]
    if asks > problem.capacity[own].max():
        return "too-long"
    on = kinds_on(problem, answer.trees)
    free = problem.capacity - minutes_on(problem, answer.trees) >= asks
    full = (on.sum(axis=1) >= problem.most_kinds) & ~on[:, problem.kind[p]]
    return "kinds" if (own & free & full).any() else "hours"
