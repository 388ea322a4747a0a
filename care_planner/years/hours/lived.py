"""A plan that knows no hours, lived: every work on its best day, urgent first, what does not fit slips."""

from collections import defaultdict

import numpy as np

from care_planner.years.hours.problem import HoursProblem, Ints, Order, order_room

# Nobody goes on with work that has become this useless (starting value).
GIVEN_UP = 0.5


def lived(problem: HoursProblem) -> Ints:
    """Trees of each class on each day [p, d].

    On each day the works whose best day has come are done in the order of their last allowed days, as far
    as the hours reach; the rest waits for the next day, and is given up once more than `GIVEN_UP` of what
    missing it costs is lost already.
    """
    cost = problem.cost()
    allowed = np.isfinite(cost) & (cost <= GIVEN_UP * problem.missed[:, None])
    best = cost.argmin(axis=1)
    last = np.where(allowed.any(axis=1), cost.shape[1] - 1 - allowed[:, ::-1].argmax(axis=1), -1)
    urgent = np.argsort(last, kind="stable")
    before: defaultdict[int, list[Order]] = defaultdict(list)
    for order in problem.orders:
        before[order.later].append(order)
    trees: Ints = np.zeros(cost.shape, dtype=np.int64)
    left = problem.count.copy()
    for day in range(cost.shape[1]):
        free, kinds = float(problem.capacity[day]), set[int]()
        due = (best <= day) & allowed[:, day] & (left > 0)
        for p in urgent[due[urgent]]:
            kind = int(problem.kind[p])
            new = kind not in kinds
            if new and len(kinds) >= problem.most_kinds[day]:
                continue
            room = int((free - new * problem.setup[kind]) / problem.minutes[p] + 1e-9)
            bears = [_bears(problem, trees, order, day, int(left[order.first]), last) for order in before[p]]
            done = int(min([room, left[p], *bears]))
            if done <= 0:
                continue
            trees[p, day] += done
            left[p] -= done
            kinds.add(kind)
            free -= done * problem.minutes[p] + new * problem.setup[kind]
    return trees


def _bears(problem: HoursProblem, trees: Ints, order: Order, day: int, waiting: int, last: Ints) -> int:
    """How many later works the order allows on a day: first works still to come hold theirs up."""
    hold = waiting if day <= last[order.first] else 0
    return int(order_room(problem, trees, order)[day:].min()) - hold
