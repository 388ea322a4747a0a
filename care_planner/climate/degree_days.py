"""Degree-days from daily Tmin and Tmax, with a lower threshold and a horizontal upper cut-off.

A horizontal cut-off means that above the upper threshold warmth goes on counting as if it were at it:
the area under the day's temperature curve above the lower threshold, minus the area above the upper one.

Sources of the methods: average and modified average: Herms 2004 (in Krischik & Davidson, IPM of Midwest
Landscapes) and McMaster & Wilhelm 1997 (Agric. For. Meteorol. 87:291-300), their methods 1 and 2;
single triangle and sine: Zalom et al. 1983 (Univ. of California leaflet 21373); single sine: Baskerville &
Emin 1969 (Ecology 50:514-517); double methods: Allen 1976 (Environ. Entomol. 5:388-396).
"""

import math
from collections.abc import Callable
from typing import Literal, get_args

import numpy as np

from care_planner.climate.gaps import Floats

Method = Literal[
    "average", "modified-average", "single-triangle", "double-triangle", "single-sine", "double-sine"
]
# A day whose Tmin and Tmax are closer than this (in their unit) has no range: to divide by it could overflow.
NO_RANGE = 1e-9
METHODS: tuple[Method, ...] = get_args(Method)


def degree_days(
    tmin: Floats,
    tmax: Floats,
    *,
    method: Method,
    lower: float,
    upper: float | None = None,
    next_tmin: Floats | None = None,
) -> Floats:
    """Degree-days of each day, in the unit of the temperatures (degC or degF); nan where a value is nan.

    tmin, tmax: any shape, days along the last axis. The double methods take the second half of a day to
    tomorrow's Tmin: `next_tmin`, by default `tmin` one day on (the last day then uses its own).
    ValueError for an unknown method or an upper threshold that is not above the lower one.
    """
    if method not in METHODS:
        raise ValueError(f"no degree-day method {method!r}; allowed: {', '.join(METHODS)}")
    if upper is not None and not upper > lower:
        raise ValueError(f"the upper threshold {upper:g} must be above the lower one {lower:g}")
    top = math.inf if upper is None else upper
    if method == "average":
        return np.clip((tmin + tmax) / 2, lower, top) - lower
    if method == "modified-average":
        return (np.clip(tmin, lower, top) + np.clip(tmax, lower, top)) / 2 - lower
    above = _triangle_above if method.endswith("triangle") else _sine_above
    first_half = _between(above, tmin, tmax, lower, upper)
    if method.startswith("single"):
        return first_half
    second_min = next_day(tmin) if next_tmin is None else next_tmin
    second_half = _between(above, np.minimum(second_min, tmax), np.maximum(second_min, tmax), lower, upper)
    return (first_half + second_half) / 2


def next_day(tmin: Floats) -> Floats:
    """Tomorrow's value for each day along the last axis; the last day's own for the last."""
    return np.concatenate([tmin[..., 1:], tmin[..., -1:]], axis=-1)


def _between(
    above: Callable[[Floats, Floats, float], Floats],
    tmin: Floats,
    tmax: Floats,
    lower: float,
    upper: float | None,
) -> Floats:
    area = above(tmin, tmax, lower)
    return area if upper is None else np.maximum(area - above(tmin, tmax, upper), 0)


def _triangle_above(tmin: Floats, tmax: Floats, threshold: float) -> Floats:
    """The mean height above the threshold of a straight line from Tmin to Tmax."""
    span = tmax - tmin
    over = np.maximum(tmax - threshold, 0)
    crossing = over**2 / (2 * np.where(span < NO_RANGE, 1, span))
    return np.where(tmin >= threshold, (tmin + tmax) / 2 - threshold, crossing)


def _sine_above(tmin: Floats, tmax: Floats, threshold: float) -> Floats:
    """The mean height above the threshold of a sine between Tmin and Tmax."""
    middle, swing = (tmin + tmax) / 2, (tmax - tmin) / 2
    rise = (threshold - middle) / np.where(swing < NO_RANGE, 1, swing)
    # Without a swing the day lies on one side: only the sign counts.
    crossing = np.arcsin(np.clip(np.where(swing < NO_RANGE, np.sign(rise), rise), -1, 1))
    area = (middle - threshold) * (math.pi / 2 - crossing) + swing * np.cos(crossing)
    height: Floats = np.maximum(area / math.pi, 0)
    return height
