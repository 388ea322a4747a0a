"""From a window to its day, or to its days where the work comes again and again."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from math import ceil, floor

import numpy as np

from care_planner.rulebook.rule import Rule, WithinRisk
from care_planner.spans import NEVER
from care_planner.stages.reach import Floats
from care_planner.windows.reason import Reason
from care_planner.windows.window import MemberWindow
from care_planner.years.choose import Wanted, choose_day, nearest_day_outside
from care_planner.years.outcome import Outcome
from care_planner.years.reasons import AfterWhatComesFirst, AimedAt, AimedByRisk, AwayThroughout
from care_planner.years.workdays import Workdays

# A work set by a risk may be done so many days before its deadline for the sake of a better day.
DAYS_BEFORE_DEADLINE = 7
# Early work waits until its window is open in this share of the members, but not longer than that.
SURE = 0.8
DAYS_TO_WAIT = 28
# Work that cannot be undone wants its window in four years of five.
IRREVERSIBLE_SHARE = 0.8
# Where everyone is away for a whole window, the work may lie so many days outside it; work with a risk,
# and work that had to wait for other work, rather late than never.
NEAR_DAYS = 14
# Work that waits for other work may end so many days after its window; later it is too late.
LATE_BY_ORDER_DAYS = 7
FAR_DAYS = 60


@dataclass(frozen=True)
class Aim:
    """The days allowed, the one aimed at, and why that one."""

    wanted: Wanted
    why: Reason


def aim_of(rule: Rule, window: MemberWindow, risks: Mapping[str, float], not_before: float) -> Aim | None:
    """Where in the window the work is wanted; None where the median member has no such day."""
    if isinstance(rule.choose, WithinRisk):
        return _within_risk(rule.choose, window, risks, not_before)
    opens, closes = window.median("opens"), window.median("closes")
    if not np.isfinite(opens):
        return None
    first = int(max(opens, not_before))
    last = int(closes) if closes < NEVER else first + 60
    if rule.choose == "early":
        if rule.repeat is not None:
            return Aim(Wanted(first, last, first), AimedAt("opening"))
        aim = _surely_open(window, first, last)
        return Aim(Wanted(first, last, aim), AimedAt("early"))
    if rule.choose == "late":
        return Aim(Wanted(first, last, last), AimedAt("late"))
    if rule.choose == "ready":
        return Aim(Wanted(first, last, first), AimedAt("ready"))
    middle = int(window.median("middle"))
    return Aim(Wanted(first, last, middle), AimedAt("middle"))


def _surely_open(window: MemberWindow, first: int, last: int) -> int:
    """The first day that is right in `SURE` of the members, else the day that is right in most."""
    ends = min(last, first + DAYS_TO_WAIT)
    shares = window.shares_holding(range(first, ends + 1))
    best = max(shares, default=0.0)
    return first + next((i for i, share in enumerate(shares) if share >= min(SURE, best)), 0)


def _within_risk(
    choose: WithinRisk, window: MemberWindow, risks: Mapping[str, float], not_before: float
) -> Aim | None:
    name = choose.latest_within_risk or choose.earliest_within_risk
    assert name is not None
    risk = risks[name]
    if choose.latest_within_risk is not None:
        ordered = np.sort(window.closes[~np.isnan(window.closes)])
        deadline = ordered[min(floor(risk * ordered.size), ordered.size - 1)]
        if not np.isfinite(deadline):
            return None
        opens = window.median("opens")
        first = max(min(opens, deadline - DAYS_BEFORE_DEADLINE), not_before)
        first = max(first, deadline - DAYS_BEFORE_DEADLINE)
        wanted = Wanted(int(min(first, deadline)), int(deadline), int(deadline))
        return Aim(wanted, AimedByRisk(name, risk, latest=True))
    ordered = np.sort(window.opens[~np.isnan(window.opens)])
    day = ordered[max(ceil((1 - risk) * ordered.size) - 1, 0)]
    if not np.isfinite(day):
        return None
    day = int(max(day, not_before))
    closes = window.median("closes")
    last = int(max(closes if closes < NEVER else day + 30, day))
    return Aim(Wanted(day, last, day), AimedByRisk(name, risk, latest=False))


def due_share(rule: Rule, window: MemberWindow, risks: Mapping[str, float]) -> tuple[float, float]:
    """The share of members in which the work is due, and the share it takes to plan it."""
    if isinstance(rule.choose, WithinRisk):
        name = rule.choose.latest_within_risk or rule.choose.earliest_within_risk
        assert name is not None
        return window.exists, min(0.5, risks[name]) if rule.choose.latest_within_risk else 0.5
    return window.exists, IRREVERSIBLE_SHARE if rule.irreversible else 0.5


def one_day(
    rule: Rule, wanted: Wanted, days: Workdays, load: Floats, company: Collection[int], earliest: int
) -> tuple[int | None, Reason | None]:
    """The day, and why where it had to lie outside the window.

    `earliest` is today, or the first day after what the tree rests from and what must come before.
    """
    now = Wanted(max(wanted.first, earliest), wanted.last, wanted.aim)
    if now.first > now.last:
        late = Wanted(now.first, now.first - 1, now.first)  # no window left: only what comes after it
        day = nearest_day_outside(late, days, False, earliest, LATE_BY_ORDER_DAYS)
        in_time = day is not None and day <= wanted.last + LATE_BY_ORDER_DAYS
        return (day if in_time else None), AfterWhatComesFirst()
    day = choose_day(now, days, load, company)
    if day is not None:
        return day, None
    early = isinstance(rule.choose, WithinRisk) and rule.choose.latest_within_risk is not None
    reach = FAR_DAYS if isinstance(rule.choose, WithinRisk) else NEAR_DAYS
    if early:
        reach = max(reach, now.first - earliest)  # before a deadline however early
    return nearest_day_outside(now, days, early, earliest, reach), AwayThroughout()


def least_apart(every_days: int) -> int:
    """The days between two rounds of a work that comes again every so many."""
    return max(1, every_days * 2 // 3)


def repeated_days(
    rule: Rule,
    wanted: Wanted,
    days: Workdays,
    load: Floats,
    company: Collection[int],
    today: int,
    done: tuple[int, ...],
    published: Mapping[int, int],
) -> tuple[tuple[int, int], ...]:
    """(occurrence, day) for a work that comes again every so many days while its window is open.

    Occurrences are counted from the opening, so that a plan made later keeps their identity; a note
    of work done sets the rhythm anew. A `published` day (by occurrence) stands while it fits.
    """
    assert rule.repeat is not None
    every = rule.repeat.every_days
    found: list[tuple[int, int]] = []
    start = max(done) + every if done else wanted.first
    number = len(done) + 1 if done else 1
    slack = (every - 1) // 2
    for occurrence in range(number, rule.repeat.at_most + 1):
        aim = start + (occurrence - number) * every
        if aim > wanted.last:
            break
        # Two rounds never come much closer together than the interval says.
        apart = found[-1][1] + least_apart(every) if found else 0
        span = Wanted(
            max(aim - slack, wanted.first, today, apart),
            min(aim + slack, wanted.last),
            aim,
            min(1.0, 7.0 / every),
        )
        day = _kept(published.get(occurrence), span, days)
        if day is None:
            day = choose_day(span, days, load, company)
            if day is not None and aim < today and not _liked(day, days) and aim + every <= wanted.last:
                continue  # its own day has passed and the next round is near
        if day is not None:
            found.append((occurrence, day))
    return tuple(found)


def _kept(published: int | None, span: Wanted, days: Workdays) -> int | None:
    """The published day, where it still fits."""
    if published is None or not span.first <= published <= span.last:
        return None
    return None if days.away[published - days.first_day] else published


def _liked(day: int, days: Workdays) -> bool:
    return bool(days.favourite[day - days.first_day])


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
