"""What work against cold or heat looks out for, and what a late day costs, as links of the chain."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date
from math import nan

from care_planner.stages.members import reached_share
from care_planner.tasks.links import ColdNights, CostsShare, HotMonths
from care_planner.windows.reason import Reason
from care_planner.years.outcome import Outcome
from care_planner.years.state import TreeYears

# A month with fewer years than this is not named, and a smaller share lost is not spoken of.
WORTH_NAMING = 0.05


def what_it_risks(outcome: Outcome, years: TreeYears) -> Iterator[Reason]:
    """Nothing where the work has no such risk; the limit of a tree is left open (nan), see `with_limit`."""
    if outcome.sees is not None:
        sees, to = outcome.sees, years.tree.winter_bench or ""
        yield ColdNights(nan, years.tree.bench, sees.in_ten, sees.in_two, to)
    if outcome.rule.at_risk is not None:
        yield from _hot_months(outcome, years)
    if outcome.rule.late is not None and outcome.late_share >= WORTH_NAMING:
        yield CostsShare(outcome.late_share, outcome.rule.late.costs)


def with_limit(reasons: Iterable[Reason], outcome: Outcome, years: TreeYears) -> tuple[Reason, ...]:
    """Reasons with the tree's own limit put in: trees of many limits share all the rest."""
    limit = night_limit_c(outcome, years)
    return tuple(replace(one, limit_c=limit) if isinstance(one, ColdNights) else one for one in reasons)


def night_limit_c(outcome: Outcome, years: TreeYears) -> float:
    """The limit (degC) that nights are held against, of work that looks out for them."""
    night = outcome.rule.closes.first_night
    assert night is not None
    return years.night_limit_c(night.at_most_c, outcome.step)


def _hot_months(outcome: Outcome, years: TreeYears) -> Iterator[Reason]:
    """In how many of the years each month has such a spell."""
    spells = [part.held for part in outcome.rule.opens.walk() if part.held is not None]
    if not spells or spells[0].of != "max" or spells[0].at_least_c is None:
        return
    frame, marks = years.frame, years.weather(outcome.step).held(spells[0])
    midwinter = date.fromordinal(frame.start_of(outcome.step))
    told = []
    for number in range(midwinter.month, midwinter.month + 12):
        year, month = midwinter.year + (number - 1) // 12, (number - 1) % 12 + 1
        start = date(year, month, 1).toordinal()
        end = date(year + month // 12, month % 12 + 1, 1).toordinal()
        starts = frame.everywhere(start - frame.first_day)
        share = reached_share(marks.first_from(frame.rows, starts, end - frame.first_day))
        if share >= WORTH_NAMING:
            told.append((month, round(share, 2)))
    if told:
        yield HotMonths(float(spells[0].at_least_c), spells[0].days, tuple(told))
