"""Members: weather years times plausible paces of the tree, and what is said of a whole set of them."""

from functools import cache
from math import ceil
from statistics import NormalDist

import numpy as np

from care_planner.spans import NEVER
from care_planner.stages.reach import Floats, Ints

# Steps of this share of 1 stay evenly apart however many there are.
_GOLDEN_SHARE = 0.6180339887498949
PACES = 9  # paces of the tree (its warmth need over its taxon's) that a weather year is combined with
FEW_YEARS = 10
TOO_FEW_YEARS = 3


def member_rows(years: int) -> Ints:
    """The weather year of each member, [years * PACES]."""
    return np.repeat(np.arange(years), PACES)


@cache
def member_scores(years: int, paces: int = PACES) -> Floats:
    """Standard normal scores of the members' paces, [years * paces], of mean 0 and variance 1.

    Every year has one score from each of `paces` equal shares of probability, and another one than the year
    before: so together they stand for the whole distribution, also where all years are alike.
    """
    places = (0.5 + np.arange(years) * _GOLDEN_SHARE) % 1.0
    shares = (np.arange(paces)[None, :] + places[:, None]) / paces
    scores = np.array([NormalDist().inv_cdf(share) for share in shares.ravel()])
    if scores.size > 1:
        scores = (scores - scores.mean()) / scores.std()
    scores.flags.writeable = False
    return scores


def quantile(days: Floats, share: float) -> float:
    """The day by which a share of the known members is there (an order statistic, never interpolated).

    NEVER where the share is not reached, nan where nothing is known.
    """
    known = np.sort(days[~np.isnan(days)])
    if known.size == 0:
        return float("nan")
    place = min(max(ceil(share * known.size) - 1, 0), known.size - 1)
    return float(known[place])


def reached_share(days: Floats) -> float:
    """The share of the known members in which it comes at all; nan where nothing is known."""
    known = days[~np.isnan(days)]
    return float(np.mean(known < NEVER)) if known.size else float("nan")


def known_years(days: Floats, rows: Ints) -> int:
    """How many weather years a date rests on."""
    return int(np.count_nonzero(np.bincount(rows[~np.isnan(days)])))
