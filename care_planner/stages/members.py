"""Members: weather years times plausible paces of the tree, and what is said of a whole set of them."""

from statistics import NormalDist

import numpy as np

from care_planner.spans import NEVER
from care_planner.stages.reach import Floats, Ints

PACES = 9  # paces a weather year is combined with, each standing for an equal share of trees
FEW_YEARS = 10
TOO_FEW_YEARS = 3


def member_rows(years: int) -> Ints:
    """The weather year of each member, [years * PACES]."""
    return np.repeat(np.arange(years), PACES)


def member_paces(years: int, log_mean: float, log_spread: float) -> Floats:
    """The pace of each member: the warmth it needs as a multiple of its taxon's, [years * PACES].

    Log-normal, each pace the middle of an equal share of probability.
    """
    middles = [NormalDist().inv_cdf((i + 0.5) / PACES) for i in range(PACES)]
    # Middles of equal shares spread less than the whole law does; scaling keeps its variance.
    scale = 1.0 / np.sqrt(np.mean(np.square(middles)))
    return np.tile(np.exp(log_mean + log_spread * scale * np.array(middles)), years)


def quantile(days: Floats, share: float) -> float:
    """The day by which a share of the known members is there (an order statistic, never interpolated).

    NEVER where the share is not reached, nan where nothing is known.
    """
    known = np.sort(days[~np.isnan(days)])
    if known.size == 0:
        return float("nan")
    place = min(max(int(np.ceil(share * known.size)) - 1, 0), known.size - 1)
    return float(known[place])


def reached_share(days: Floats) -> float:
    """The share of the known members in which it comes at all; nan where nothing is known."""
    known = days[~np.isnan(days)]
    return float(np.mean(known < NEVER)) if known.size else float("nan")


def known_years(days: Floats, rows: Ints) -> int:
    """How many weather years a date rests on."""
    return int(np.unique(rows[~np.isnan(days)]).size)
