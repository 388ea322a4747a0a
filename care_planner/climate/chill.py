"""Chill from daily Tmin and Tmax through the daily curve: hours between two temperatures, Utah units."""

from itertools import pairwise

import numpy as np

from care_planner.climate.daily_curve import hours_under
from care_planner.climate.gaps import Floats

# Richardson, Seeley & Walker 1974 (HortScience 9:331-332), metric bins: up to and with this temperature
# (degC) an hour counts so much; above the last it counts `UTAH_ABOVE`.
UTAH_BINS: tuple[tuple[float, float], ...] = (
    (1.4, 0.0),
    (2.4, 0.5),
    (9.1, 1.0),
    (12.4, 0.5),
    (15.9, 0.0),
    (18.0, -0.5),
)
UTAH_ABOVE = -1.0


def hours_between(tmin_c: Floats, tmax_c: Floats, *, low_c: float, high_c: float) -> Floats:
    """Hours a day ([..., days]) from `low_c` to `high_c`, both in (degC); nan where a value is nan.

    Chilling hours in the older sense are those between 0 and 7.2 degC (Weinberger 1950; Bennett 1949).
    ValueError unless low_c is under high_c.
    """
    if not low_c < high_c:
        raise ValueError(f"chill counts between two temperatures, the lower first: {low_c:g}, {high_c:g}")
    up_to_high = hours_under(tmin_c, tmax_c, high_c, or_at=True)
    return up_to_high - hours_under(tmin_c, tmax_c, low_c, or_at=False)


def utah_weight(temp_c: Floats, *, positive_only: bool = False) -> Floats:
    """The Utah chill units of one hour at a temperature (any shape, degC).

    positive_only: warmth takes nothing away (Linsley-Noakes 1995): no weight under 0.
    """
    edges = [edge for edge, _ in UTAH_BINS]
    weights = np.array([*(weight for _, weight in UTAH_BINS), UTAH_ABOVE])
    # searchsorted on the left puts an edge itself into its own bin: "up to and with".
    chosen: Floats = weights[np.searchsorted(edges, temp_c, side="left")]
    chosen = np.maximum(chosen, 0) if positive_only else chosen
    return np.where(np.isnan(temp_c), np.nan, chosen)


def utah_units(tmin_c: Floats, tmax_c: Floats, *, positive_only: bool = False) -> Floats:
    """Utah chill units a day ([..., days], -24 to 24); nan where a value is nan."""
    lowest = 0.0 if positive_only else UTAH_ABOVE
    weights = [max(weight, lowest) for weight in (*(weight for _, weight in UTAH_BINS), UTAH_ABOVE)]
    # As if all 24 hours lay above the last edge; then the hours under each edge change bin.
    units = np.full(tmin_c.shape, 24 * weights[-1])
    for (edge, _), (weight, warmer_weight) in zip(UTAH_BINS, pairwise(weights), strict=True):
        if weight != warmer_weight:
            units = units + (weight - warmer_weight) * hours_under(tmin_c, tmax_c, edge, or_at=True)
    return units
