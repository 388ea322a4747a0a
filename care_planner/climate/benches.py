"""The weather of a bench: how the place a tree stands in differs from the weather record."""

import numpy as np

from care_planner.climate.gaps import Floats

# How much warmer than outside a closed, unheated shelter gets by day: common practice, no source.
DAY_GAIN_C = 3.0


def on_bench(
    tmin_c: Floats,
    tmax_c: Floats,
    *,
    offset_c: float = 0.0,
    floor_c: float | None = None,
    vent_c: float | None = None,
) -> tuple[Floats, Floats]:
    """Tmin and Tmax (any shape, degC) on a bench.

    offset_c is added to both. floor_c, of a heated or buffered shelter, lifts both to at least that. Where
    vent_c is given the place is closed and gains up to `DAY_GAIN_C` by day, but is vented at vent_c: its
    Tmax is never above vent_c unless outside is, and never under that of outside.
    """
    tmin, tmax = tmin_c + offset_c, tmax_c + offset_c
    if floor_c is not None:
        tmin, tmax = np.maximum(tmin, floor_c), np.maximum(tmax, floor_c)
    if vent_c is not None:
        tmax = np.minimum(tmax + DAY_GAIN_C, np.maximum(vent_c, tmax))
    return tmin, tmax
