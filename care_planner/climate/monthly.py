"""A daily record generated from twelve monthly means, for a site where nothing better is known.

The means alone have no frost nights and no spread from year to year, so days are drawn around them with
the spread that daily records have. The draw is the same on every machine and in every run.
"""

import math
from collections.abc import Sequence
from datetime import date
from itertools import pairwise

import numpy as np

from care_planner.climate.gaps import Floats
from care_planner.climate.record import WeatherRecord

# How days scatter about their smooth yearly course. Measured by month on the records of Brussels 1976-2005,
# Gangneung 1991-2023 and Utsunomiya 1976-2025 (sources in tests/data/SOURCES.md) about three harmonics of the
# year. Tmin: sd 2.2 to 2.7 degC in the warmest months, 2.9 to 4.6 in the coldest; Tmax: sd 2.8 to 5.0;
# correlation of the two 0.3 to 0.9; lag-1 correlation 0.56 to 0.84; yearly mean: sd 0.7 to 1.0. Within these
# spans the numbers of Tmin and the lag are those whose frost dates come nearest to the records' own
# (tests/benchmarks/monthly_calibration.py, which judges each climate by what the others choose).
TMIN_SD_WARMEST_C, TMIN_SD_COLDEST_C, TMAX_SD_C = 2.3, 3.4, 3.8
TMIN_TMAX_CORRELATION, LAG_1, YEAR_SD_C = 0.66, 0.56, 0.7
_SEED = 20010101
_UNIFORMS_A_NORMAL = 12


def monthly_record(
    tmin_c: Sequence[float], tmax_c: Sequence[float], first_year: int = 2001, years: int = 20
) -> WeatherRecord:
    """Generated days, January of `first_year` on, whose monthly means over all years are close to the given.

    tmin_c, tmax_c: twelve mean daily minima and maxima, January first, degC. ValueError for anything else.
    """
    low, high = np.asarray(tmin_c, dtype=np.float64), np.asarray(tmax_c, dtype=np.float64)
    if low.shape != (12,) or high.shape != (12,) or not np.isfinite([low, high]).all() or (low > high).any():
        raise ValueError("monthly means must be twelve Tmin and twelve Tmax, each Tmin at or under its Tmax")
    first_day = date(first_year, 1, 1).toordinal()
    year_lengths = np.diff([date(first_year + n, 1, 1).toordinal() for n in range(years + 1)])
    share_of_year = np.concatenate([(np.arange(length) + 0.5) / length for length in year_lengths])
    low_course, high_course = _through_months(low, share_of_year), _through_months(high, share_of_year)
    tmin_anomaly, tmax_anomaly = _anomalies_c(low_course)
    tmin, tmax = low_course + tmin_anomaly, high_course + tmax_anomaly
    # A day drawn with Tmin above Tmax gets both in the middle.
    middle = (tmin + tmax) / 2
    tmin, tmax = np.minimum(tmin, middle).round(1), np.maximum(tmax, middle).round(1)
    notes = (f"from monthly means only: {years} years of days were generated around them",)
    return WeatherRecord(first_day, tmin, tmax, (tmin + tmax) / 2, {}, "monthly means", "monthly", notes)


def _through_months(means: Floats, share_of_year: Floats) -> Floats:
    """A smooth yearly course with exactly these monthly means in a common year: a Fourier sum of 12 terms."""
    common = _harmonics((np.arange(365) + 0.5) / 365)
    month_starts = [date(2001, month, 1).timetuple().tm_yday - 1 for month in range(1, 13)] + [365]
    by_month = np.array([common[start:end].mean(axis=0) for start, end in pairwise(month_starts)])
    course: Floats = _harmonics(share_of_year) @ np.linalg.solve(by_month, means)
    return course


def _harmonics(share_of_year: Floats) -> Floats:
    # Counted from mid-January, so that the sixth cosine is +1 and -1 in turn at the middle of the months.
    angle = 2 * math.pi * (share_of_year - 1 / 24)
    pairs = [wave(order * angle) for order in range(1, 6) for wave in (np.cos, np.sin)]
    return np.stack([np.ones_like(angle), *pairs, np.cos(6 * angle)], axis=-1)


def _anomalies_c(low_course: Floats) -> tuple[Floats, Floats]:
    """How far each day's Tmin and Tmax are from their courses: two tied walks about a slow yearly swing."""
    days = len(low_course)
    half = (days + 1) // 2
    swing_nodes = YEAR_SD_C * _normals(half // 365 + 2, stream=1)
    swing = _mirrored(np.interp(np.arange(half) / 365, np.arange(len(swing_nodes)), swing_nodes), days)
    shared = _mirrored(_walk(_normals(half, stream=2)), days)
    own = _mirrored(_walk(_normals(half, stream=3)), days)
    coldness = (low_course.max() - low_course) / max(float(np.ptp(low_course)), 1.0)
    tmin_sd = TMIN_SD_WARMEST_C + coldness * (TMIN_SD_COLDEST_C - TMIN_SD_WARMEST_C)
    tied = TMIN_TMAX_CORRELATION * shared + math.sqrt(1 - TMIN_TMAX_CORRELATION**2) * own
    return swing + tmin_sd * shared, swing + TMAX_SD_C * tied


def _mirrored(first_half: Floats, days: int) -> Floats:
    """The second half is the first with its sign turned, so that the mean over all years is kept."""
    return np.concatenate([first_half, -first_half])[:days]


def _walk(shocks: Floats) -> Floats:
    """A first-order autoregressive walk with variance 1."""
    walk = np.empty_like(shocks)
    state, weight = float(shocks[0]), math.sqrt(1 - LAG_1**2)
    for place, shock in enumerate(shocks):
        state = LAG_1 * state + weight * float(shock)
        walk[place] = state
    return walk


def _normals(number: int, stream: int) -> Floats:
    """Nearly normal numbers: 12 uniform ones summed, minus 6. Only additions, so equal on every machine."""
    raw = np.random.PCG64([_SEED, stream]).random_raw(number * _UNIFORMS_A_NORMAL)
    uniforms = (np.asarray(raw, dtype=np.uint64) >> np.uint64(11)).astype(np.float64) * 2.0**-53
    normals: Floats = uniforms.reshape(number, _UNIFORMS_A_NORMAL).sum(axis=1) - _UNIFORMS_A_NORMAL / 2
    return normals
