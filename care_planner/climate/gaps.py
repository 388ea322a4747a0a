"""The policy for days without a reading.

A gap of up to `SHORT_GAP_DAYS` days is filled by a straight line between the days on either side
(common practice, no source); a longer one, or one at either end of the record, stays missing.
"""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

SHORT_GAP_DAYS = 3


def missing_runs(missing: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """The runs of True in `missing` ([days]) as (start in, end out) positions, in order."""
    edges = np.diff(np.concatenate(([0], missing.astype(np.int8), [0])))
    starts = np.flatnonzero(edges == 1)
    ends = np.flatnonzero(edges == -1)
    return [(int(start), int(end)) for start, end in zip(starts, ends, strict=True)]


def fill_short_gaps(values: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """A copy of `values` ([days], nan = missing) with its short inner gaps filled, and which days were."""
    filled = np.array(values, dtype=np.float64)
    was_filled = np.zeros(filled.shape, dtype=np.bool_)
    for start, end in missing_runs(np.isnan(filled)):
        if end - start > SHORT_GAP_DAYS or start == 0 or end == len(filled):
            continue
        share = np.arange(1, end - start + 1) / (end - start + 1)
        filled[start:end] = filled[start - 1] + share * (filled[end] - filled[start - 1])
        was_filled[start:end] = True
    return filled, was_filled


def fill_temperatures(tmin_c: Floats, tmax_c: Floats, tmean_c: Floats) -> tuple[Floats, Floats, Floats]:
    """Tmin, Tmax and Tmean ([days], degC) after short gaps were filled.

    Each is filled on its own; where a filled Tmin and Tmax would cross, they meet halfway.
    """
    tmin, _ = fill_short_gaps(tmin_c)
    tmax, _ = fill_short_gaps(tmax_c)
    tmean, _ = fill_short_gaps(tmean_c)
    crossed = tmin > tmax
    tmin[crossed] = tmax[crossed] = (tmin[crossed] + tmax[crossed]) / 2
    return tmin, tmax, tmean
