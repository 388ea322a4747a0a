"""How likely a season's flowers are on wood of each kind, and what a mistaken note could have been.

Wood of rung k can give form k and every darker one, none lighter. How much of its own form it shows differs
from branch to branch (its habit, which stays) and from season to season (a Dirichlet distribution around
the habit). So a lighter flower settles the matter, and many dark ones make light wood ever less likely
without ruling it out.

A note can be wrong in two ways: one flower of it was read one form off (a slip), or the whole note is of
some other wood (a swapped tag, the wrong plant). Full sun bleaches: there half of the notes are of the
second kind. All numbers here are starting values, no source.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

SPREAD_OF_SEASONS = 1.5  # sum of the Dirichlet weights: the smaller, the more seasons differ
WRONG_IN_FULL_SUN = 0.5
SLIPS = 0.01  # of flowers are read one form off where notes can be wrong at all


@dataclass(frozen=True, eq=False)
class Readings:
    """What each note [N] says of wood of each habit [H] and rung [K], each scaled by a number of its own.

    `right`: read as noted; `slip`: one flower read one form off; `other` [N]: the note is of other wood;
    `careful` [N]: the chance that no flower was read one form off, where that can happen.
    """

    right: Array
    slip: Array
    other: Array
    careful: Array
    full_sun: NDArray[np.bool_]

    def likelihood(self, mistakes: float) -> Array:
        """[N, H, K], where a share `mistakes` of the notes is of other wood."""
        clean, other = self.parts(mistakes)
        return clean + other

    def parts(self, mistakes: float) -> tuple[Array, Array]:
        """The likelihood as the sum of the note read as it stands, and of it being wrong in either way."""
        wrong = np.where(self.full_sun, 1 - (1 - mistakes) * (1 - WRONG_IN_FULL_SUN), mistakes)[:, None, None]
        other = wrong * np.broadcast_to(self.other[:, None, None], self.right.shape)
        if not mistakes:
            return (1 - wrong) * self.right, other
        return (1 - wrong) * self.careful[:, None, None] * self.right, (1 - wrong) * self.slip + other


def read_as(
    counts: Sequence[Sequence[int]] | Whole, full_sun: Sequence[bool], habits: Sequence[float]
) -> Readings:
    """The readings of notes: `counts` [N, K] of each form, lightest first, `full_sun` [N], `habits` [H].

    Sequences of flowers are meant, not sets: the factor that is the same for all wood is left out.
    """
    seen = np.array(counts, dtype=np.int64)
    if not len(seen):
        none = np.ones((0, len(habits), seen.shape[1]))
        return Readings(none, none, np.ones(0), np.ones(0), np.zeros(0, dtype=bool))
    different, which = np.unique(seen, axis=0, return_inverse=True)
    chances = _Chances(different, tuple(habits))
    right, slip = chances.right(), chances.slip()
    # Many flowers make small numbers; what is the same for all wood is divided out.
    most = right.max(axis=(1, 2), keepdims=True)
    scaled, slips = np.exp(right - most), np.exp(slip - most)
    other = scaled.mean(axis=(1, 2))  # of other wood: as likely of one kind as of another
    careful = (1 - SLIPS) * _odds(different)
    which = which.reshape(-1)
    return Readings(scaled[which], slips[which], other[which], careful[which], np.array(full_sun, dtype=bool))


def _odds(counts: Whole) -> Array:
    """[N]: what makes the chances of no slip and of each one slip add up to 1.

    Two in a note are not thought of, since counts are rough.
    """
    odds: Array = 1 / (1 - SLIPS + SLIPS * counts.sum(axis=1))
    return odds


class _Chances:
    """Logs of Dirichlet-multinomial chances, by a table of what each weight and count contribute."""

    def __init__(self, counts: Whole, habits: Sequence[float]) -> None:
        self.counts, self.habits = counts, habits
        self.rungs = counts.shape[1]

    @cached_property
    def _weights(self) -> Array:
        """Dirichlet weights [H, K, form]; 0 where wood of a rung cannot give a form."""
        weights = np.zeros((len(self.habits), self.rungs, self.rungs))
        for h, habit in enumerate(self.habits):
            for rung in range(self.rungs - 1):
                weights[h, rung, rung] = SPREAD_OF_SEASONS * habit
                weights[h, rung, rung + 1 :] = SPREAD_OF_SEASONS * (1 - habit) / (self.rungs - 1 - rung)
            weights[h, -1, -1] = SPREAD_OF_SEASONS
        return weights

    def right(self) -> Array:
        """Log chance [N, H, K] of the flowers as noted."""
        return self._log(self.counts)

    def slip(self) -> Array:
        """The same with one flower in truth one form lighter or darker, summed over which it was."""
        found = np.full((len(self.counts), len(self.habits), self.rungs), -np.inf)
        for noted in range(self.rungs):
            for true in {max(noted - 1, 0), min(noted + 1, self.rungs - 1)} - {noted}:
                has = np.flatnonzero(self.counts[:, noted])
                if not len(has):
                    continue
                moved = self.counts[has].copy()
                moved[:, noted] -= 1
                moved[:, true] += 1
                # A flower at an end of the ladder can only be read as its one neighbour.
                ways = SLIPS * (1.0 if true in (0, self.rungs - 1) else 0.5)
                log = np.log(ways * self.counts[has, noted])[:, None, None] + self._log(moved)
                found[has] = np.logaddexp(found[has], log)
        return found + np.log(_odds(self.counts))[:, None, None]

    def _log(self, counts: Whole) -> Array:
        """Log chance [N, H, K] of sequences with these counts."""
        total = counts.sum(axis=1)
        log = self._rising(np.full(1, SPREAD_OF_SEASONS), total)[:, 0]
        found = np.repeat(-log[:, None, None], len(self.habits), axis=1).repeat(self.rungs, axis=2)
        for form in range(self.rungs):
            weights = self._weights[:, :, form]
            some = counts[:, form] > 0
            if not some.any():
                continue
            flat, where = np.unique(weights, return_inverse=True)
            part = self._rising(flat, counts[:, form])[:, where.reshape(weights.shape)]
            found += np.where(some[:, None, None], part, 0.0)
        return found

    @staticmethod
    def _rising(weights: Array, counts: Whole) -> Array:
        """Log of weight (weight + 1) ... (weight + count - 1), [N, weights]; -inf for a weight of 0."""
        different, where = np.unique(counts, return_inverse=True)
        table = np.array([
            [math.lgamma(w + c) - math.lgamma(w) if w else (0.0 if c == 0 else -math.inf) for w in weights]
            for c in different.tolist()
        ])  # fmt: skip
        found: Array = table[where.reshape(-1)]
        return found
