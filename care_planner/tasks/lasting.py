"""Work that holds for a time and is told once, from its first day to its last: a watch on the weather, a rule
that stands, and handwork that comes back every few days."""

import numpy as np

from care_planner.rulebook.rule import Rule
from care_planner.years.outcome import Outcome
from care_planner.years.previous import PreviousTask
from care_planner.years.workdays import Workdays

# Handwork that comes back within so many days is one span of work, not many works.
SPAN_DAYS = 7
# A watch begins on a favourite day up to so many days before it has to, and ends as many days after it may;
# handwork begins on one after it may, where half of its time is left then.
DAYS_TO_FAVOURITE = 6


def lasts(rule: Rule) -> bool:
    """Whether a rule's work is told as a span of days."""
    if rule.way == "work":
        return rule.repeat is not None and rule.repeat.every_days <= SPAN_DAYS
    return rule.way in ("watch", "standing")


def lasting_days(
    outcome: Outcome,
    published: PreviousTask | None,
    today: int,
    days: Workdays,
    not_before: float = -np.inf,
) -> tuple[int, int | None]:
    """The first and the last day (None: no end in most years) of work that lasts.

    What has begun keeps its first day, so a plan made while it lasts does not begin it anew. `not_before` is
    the day on which what must come first has come.
    """
    assert outcome.window is not None
    opens, closes = (outcome.window.median(end) for end in ("opens", "closes"))
    last = int(closes) if np.isfinite(closes) else None
    if outcome.rule.way == "work":
        first, last = outcome.days[0][1], outcome.days[-1][1]
        liked = _favourite(first, 1, today, days)
        first = liked if 2 * (liked - first) <= last - first else first
    else:
        first = max(int(opens) if np.isfinite(opens) else outcome.days[0][1], today)
    if outcome.rule.way == "watch":
        first = _favourite(first, -1, today, days)
        first = max(first, int(not_before)) if np.isfinite(not_before) else first
        last = None if last is None else _favourite(last, 1, today, days)
    if published is not None and published.day < first and published.day <= today:
        first = published.day
    return first, None if last is None else max(last, first)


def _favourite(day: int, step: int, today: int, days: Workdays) -> int:
    """The nearest favourite day from `day` on, backwards or forwards, past days on which everyone is away;
    where there is none within reach, the nearest on which anybody is there."""
    size = days.away.size
    start = day
    while 0 <= start - days.first_day < size and days.away[start - days.first_day]:
        start += step
    if start < today or not 0 <= start - days.first_day < size:
        return day
    for one in range(start, start + step * (DAYS_TO_FAVOURITE + 1), step):
        column = one - days.first_day
        if one >= today and 0 <= column < size and days.favourite[column] and not days.away[column]:
            return one
    return start
