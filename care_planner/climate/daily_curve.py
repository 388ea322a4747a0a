"""The course of temperature through a day, from its Tmin, its Tmax and the next day's Tmin.

Two half cosines: from Tmin at 05:00 up to Tmax at 15:00, then down to the next Tmin at 05:00. The form is
that of de Wit et al. 1978 (Simulation of assimilation, respiration and transpiration of crops; from memory);
fixed clock times instead of sunrise are our simplification, common practice, no source. So a "day" here runs
from its own minimum to the next.
"""

import math

import numpy as np

from care_planner.climate.degree_days import NO_RANGE, next_day
from care_planner.climate.gaps import Floats

RISING_HOURS, FALLING_HOURS = 10, 14


def hourly_temperatures(tmin: Floats, tmax: Floats, next_tmin: Floats | None = None) -> Floats:
    """Temperatures ([..., 24], unit of the input) in the middle of the 24 hours that follow Tmin.

    tmin, tmax: [..., days]; next_tmin by default `tmin` one day on, the last day's own for the last.
    """
    following = next_day(tmin) if next_tmin is None else next_tmin
    rising = (1 - np.cos(math.pi * (np.arange(RISING_HOURS) + 0.5) / RISING_HOURS)) / 2
    falling = (1 + np.cos(math.pi * (np.arange(FALLING_HOURS) + 0.5) / FALLING_HOURS)) / 2
    up = tmin[..., None] + (tmax - tmin)[..., None] * rising
    down = following[..., None] + (tmax - following)[..., None] * falling
    return np.concatenate([up, down], axis=-1)


def hours_under(tmin: Floats, tmax: Floats, threshold: float, *, or_at: bool) -> Floats:
    """Hours a day ([..., days], 0 to 24) under `threshold`, and at it if `or_at`: exact on the curve.

    It matters whether the threshold counts where a shelter holds the temperature exactly there.
    """
    following = next_day(tmin)
    rising = _share_under(tmin, tmax, threshold, or_at)
    falling = _share_under(np.minimum(following, tmax), np.maximum(following, tmax), threshold, or_at)
    return RISING_HOURS * rising + FALLING_HOURS * falling


def _share_under(low: Floats, high: Floats, threshold: float, or_at: bool) -> Floats:
    """The share of a half cosine between `low` and `high` that lies under the threshold; nan for nan."""
    span = high - low
    ranges = span >= NO_RANGE
    flat = (low <= threshold) if or_at else (low < threshold)
    height = np.where(ranges, (threshold - low) / np.where(ranges, span, 1), flat)
    share: Floats = np.arccos(1 - 2 * np.clip(height, 0, 1)) / math.pi
    return np.where(np.isnan(span), np.nan, share)
