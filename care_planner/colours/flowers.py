"""How likely a season's flowers are on wood of each kind.

Wood of rung k can give form k and every darker one, none lighter. How much of each it gives differs from
branch to branch and from year to year: the shares are drawn from a Dirichlet distribution with weight
`OWN` on the wood's own form and `DARKER` spread evenly over the darker ones, so that light wood gives its
own form two times in three on average, but may well give few. So a lighter flower settles the matter,
and many dark ones make light wood ever less likely without ruling it out. Starting values, common
practice, no source.
"""

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

OWN, DARKER = 1.0, 0.5
# In full sun colours bleach: half as likely as not, what was seen says nothing. Starting value, no source.
MISREAD_IN_FULL_SUN = 0.5


@lru_cache(maxsize=65_536)
def likelihood(counts: tuple[int, ...], full_sun: bool = False) -> tuple[float, ...]:
    """Likelihood of the counts of each form (lightest first) for wood of each rung, the largest being 1.

    Without flowers it is 1 for every rung. Sequences are meant, not sets: the factor that is the same
    for all rungs is left out.
    """
    rungs = len(counts)
    logs = np.full(rungs, -np.inf)
    for rung in range(rungs):
        if not any(counts[:rung]):
            logs[rung] = _log_of_shares(counts[rung:], _weights(rungs - rung))
    if full_sun and any(counts):
        unseen = _log_of_shares(counts, [1.0 / rungs] * rungs)
        logs = np.logaddexp(math.log(1 - MISREAD_IN_FULL_SUN) + logs, math.log(MISREAD_IN_FULL_SUN) + unseen)
    return tuple(np.exp(logs - logs.max()).tolist())


def _weights(rungs: int) -> list[float]:
    """Dirichlet weights of a wood's own form and the darker ones."""
    return [OWN, *([DARKER / (rungs - 1)] * (rungs - 1) if rungs > 1 else [])]


def _log_of_shares(counts: tuple[int, ...], weights: list[float]) -> float:
    """Log of the Dirichlet-multinomial chance of one sequence with these counts."""
    total, seen = sum(weights), sum(counts)
    log = math.lgamma(total) - math.lgamma(total + seen)
    return log + sum(
        math.lgamma(weight + count) - math.lgamma(weight)
        for weight, count in zip(weights, counts, strict=True)
        if count
    )
