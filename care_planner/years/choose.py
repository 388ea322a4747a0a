"""A day for a work, inside its window: never while everyone is away, rather on a favourite day,
rather where other trees have the same work, rather not where this tree has much already."""

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np

from care_planner.stages.reach import Floats
from care_planner.years.workdays import Workdays

# Weights in days of distance from the day aimed at. A favourite day is worth six days of it (a week
# has one), company three, and the n-th work of one tree on a day costs n * n.
FAVOURITE = 6.0
COMPANY = 3.0
PILE = 1.0
# From a window of so many days on, a day off the aim costs less, in proportion. Starting value.
GIVES_WAY_DAYS = 14.0
# No further than this from the day aimed at while there is any day nearer.
REACH_DAYS = 21


@dataclass(frozen=True)
class Wanted:
    """Ordinals: the first and last day allowed (both in) and the one aimed at.

    `a_day_off` is what each day away from the aim costs, less where the work comes at long intervals;
    where not given, a long window gives way more easily than a short one.
    """

    first: int
    last: int
    aim: int
    a_day_off: float | None = None


def choose_day(wanted: Wanted, days: Workdays, load: Floats, company: Collection[int]) -> int | None:
    """The best allowed day, or None where everyone is away throughout.

    `load` is the number of this tree's works on each day of `days`; `company` the days on which
    other trees have the same work.
    """
    if wanted.first > wanted.last:
        return None
    aim = min(max(wanted.aim, wanted.first), wanted.last)
    off = wanted.a_day_off
    near = Wanted(max(wanted.first, aim - REACH_DAYS), min(wanted.last, aim + REACH_DAYS), aim, off)
    day = _best(near, days, load, company)
    return day if day is not None else _best(replace(wanted, aim=aim), days, load, company)


def _best(wanted: Wanted, days: Workdays, load: Floats, company: Collection[int]) -> int | None:
    first, last = wanted.first, wanted.last
    start, end = first - days.first_day, last - days.first_day + 1
    start, end = max(start, 0), min(end, len(days.away))
    if start >= end or days.away[start:end].all():
        return None
    span = np.arange(start, end) + days.first_day
    a_day_off = wanted.a_day_off if wanted.a_day_off is not None else min(1.0, GIVES_WAY_DAYS / (end - start))
    cost = np.abs(span - wanted.aim) * a_day_off
    cost = cost - FAVOURITE * days.favourite[start:end] + PILE * load[start:end] ** 2
    for day in company:
        if first <= day <= last:
            cost[day - days.first_day - start] -= COMPANY
    cost[days.away[start:end]] = np.inf
    # Ties go to the earlier day.
    return int(span[int(np.argmin(cost))])


def nearest_day_outside(
    wanted: Wanted, days: Workdays, before: bool, earliest: int, reach: int
) -> int | None:
    """Where everyone is away for the whole window: the nearest day `before` it, or else after it.

    Never before the day `earliest`, nor more than `reach` days outside.
    """
    order = [
        range(wanted.first - 1, max(earliest, wanted.first - reach) - 1, -1),
        range(max(wanted.last + 1, earliest), wanted.last + reach + 1),
    ]
    for candidates in order if before else order[::-1]:
        for day in candidates:
            index = day - days.first_day
            if 0 <= index < len(days.away) and not days.away[index]:
                return day
    return None
