"""What the forecast has to do with a day that moved: the one cold night, or how warm the days to come are."""

from collections.abc import Iterator
from typing import TypedDict

import numpy as np

from care_planner.rulebook.moment import Night
from care_planner.rulebook.rule import Rule
from care_planner.years.state import TreeYears

# Nearer to the usual than this a forecast is no reason for anything; and a stage so many days after its last
# day still feels what it says. Starting values.
FORECAST_COUNTS_FROM_C = 0.5
FORECAST_CARRIES_DAYS = 21
# From this share of the weather years on a night counts as one that moves a day: a starting value.
_NIGHT_COUNTS_FROM = 0.1


class Foreseen(TypedDict):
    """The forecast's part in a move, as `years/move.py` keeps it; zeros where it has none."""

    warmer_c: float
    night: int
    low_c: float


NOTHING_FORESEEN = Foreseen(warmer_c=0.0, night=0, low_c=0.0)


def foreseen(reaches: int, rule: Rule, step: int, way: int, years: TreeYears) -> Foreseen:
    """The forecast's part in a move of a rule's day by its window. `way`: later (positive) or earlier.

    Where the window hangs on a cold night and one is forecast, it is that night; else the days to come, where
    they reach the day `reaches`.
    """
    cold = max(_cold_nights(rule, step, way, years), default=None)
    if cold is not None:
        _, column = cold
        low = float(np.nanmean(years.home.daily("min")[:, column]))
        return Foreseen(warmer_c=0.0, night=years.frame.first_day + column, low_c=round(low, 1))
    return Foreseen(warmer_c=warmer_c(reaches, years), night=0, low_c=0.0)


def warmer_c(day: int, years: TreeYears) -> float:
    """How much warmer than usual the forecast says the next days are (degC); 0 where it does not reach the
    day, or says nearly the usual."""
    says = years.shared.forecast
    if says is None or day > says.until or abs(says.warmer_c) < FORECAST_COUNTS_FROM_C:
        return 0.0
    return round(says.warmer_c, 1)


def _cold_nights(rule: Rule, step: int, way: int, years: TreeYears) -> Iterator[tuple[float, int]]:
    """How often each night that the forecast makes colder reaches a limit of the rule, and its column."""
    says = years.shared.forecast
    if says is None:
        return
    for night, towards in _nights(rule):
        if towards * way < 0:
            continue
        limit = years.night_limit_c(night.at_most_c, step)
        for day in says.colder_nights:
            column = day - years.frame.first_day
            share = float(np.mean(years.home.daily("min")[:, column] <= limit))
            if share >= _NIGHT_COUNTS_FROM:
                yield share, column


def _nights(rule: Rule) -> Iterator[tuple[Night, int]]:
    """The cold nights a rule waits for; which way one moves its day: a first one earlier, a last later."""
    for moment in rule.moments():
        for part in moment.walk():
            if part.first_night is not None:
                yield part.first_night, -1
            if part.last_night is not None:
                yield part.last_night, 1
