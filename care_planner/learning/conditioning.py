"""Normal distributions given what was seen: closed form, one odd note bounded, "not yet" as a bound.

All arrays are of log paces: `known` [n, n] the covariance of the notes, `noise` [n] the variance each
note has alone, `values` [n].
"""

import math
from statistics import NormalDist

import numpy as np

from care_planner.stages.reach import Floats

# A note further from what all others make of it than this many standard deviations is odd.
ODD_AT = 3.0
_PASSES = 8
_UNIT = NormalDist()
# Below this the bound lies so far on the possible side that it says nothing.
_NO_BOUND = -6.0
# From here on the tail's own expansion is more exact than differences of its hazard.
_FAR_OUT = 20.0


def odd_notes(known: Floats, noise: Floats, values: Floats) -> tuple[Floats, Floats, Floats]:
    """Extra variance for notes that do not fit, how far each is off in standard deviations, and by how much
    its value lies from what the others say; [n] each.

    Each note is held against what all the others say of it (leave one out). Beyond `ODD_AT` its variance
    grows with the fourth power of the distance, so that its pull falls again: a far note has hardly any.
    A few passes, since an odd note also makes its neighbours look odd.
    """
    extra = np.zeros(len(values))
    off, apart = np.zeros(len(values)), np.zeros(len(values))
    for _ in range(_PASSES):
        inverse = np.linalg.inv(known + np.diag(noise + extra))
        told = 1.0 / np.diag(inverse)
        own = np.maximum(told - extra, 1e-12)
        apart = (inverse @ values) * told
        off = apart / np.sqrt(own)
        before = extra
        extra = own * (np.maximum(np.abs(off) / ODD_AT, 1.0) ** 4 - 1.0)
        if np.allclose(before, extra, rtol=0.01, atol=1e-9):
            break
    return extra, off, apart


def given(
    known: Floats, noise: Floats, values: Floats, cross: Floats, variance: Floats
) -> tuple[Floats, Floats]:
    """Mean and variance, [m], of what has covariance `cross` [m, n] with the notes and `variance` [m]."""
    if not len(values):
        return np.zeros(len(variance)), variance
    gain = np.linalg.solve(known + np.diag(noise), cross.T).T
    return gain @ values, np.maximum(variance - np.sum(gain * cross, axis=1), 0.0)


def above(mean: float, variance: float, bound: float) -> tuple[float, float] | None:
    """ "Not below `bound`" as a note: its value and noise, such that the normal distribution (mean, variance)
    given it has the mean and variance of the same truncated at the bound. None where the bound says nothing.
    """
    spread = variance**0.5
    at = (bound - mean) / spread
    if at < _NO_BOUND:
        return None
    beyond, cut = _cut_law(at)
    new_mean, new_variance = mean + spread * beyond, variance * cut
    noise = 1.0 / (1.0 / new_variance - 1.0 / variance)
    value = noise * (new_mean / new_variance - mean / variance)
    return value, noise


def _cut_law(at: float) -> tuple[float, float]:
    """Mean and variance of the standard normal distribution truncated at `at` from below."""
    if at > _FAR_OUT:
        # The tail falls like exp(-at x): its mean excess and spread are those of it, to first orders.
        return at + 1.0 / at - 2.0 / at**3, 1.0 / at**2 - 6.0 / at**4
    # The small tail itself, not 1 less the rest: that would have no digits left far out.
    hazard = _UNIT.pdf(at) / (math.erfc(at / math.sqrt(2.0)) / 2.0)
    return hazard, min(1.0 - hazard * (hazard - at), 1.0 - 1e-9)
