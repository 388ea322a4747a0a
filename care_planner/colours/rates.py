"""The two unknown rates, learnt from the grower's own notes on a grid. Pure.

No rate of change has been published. The starting belief is therefore wide: the chance that a branch's
wood darkens in a year of growth has a median of 5 % (80 % of the belief: 1.3 to 18 %), that it goes back
0.3 % (0.05 to 1.8 %). Both are common practice put into numbers, no source: "as a rule it only darkens",
"a solid branch almost never goes back".
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from care_planner.colours.flowers import Array
from care_planner.colours.passing import log_evidence, pass_up, powers, transition
from care_planner.colours.slices import Nodes

MEDIAN_DARKEN, SPREAD_DARKEN = 0.05, 1.1  # the spread is that of the logit
MEDIAN_BACK, SPREAD_BACK = 0.003, 1.4
REACH = 3.0  # spreads to either side that the first grid covers
POINTS = (17, 9)  # of the grid: darken, back
FINE = (9, 4)  # grid steps that must hold the bulk of each belief, else the grid is laid anew around it
ROUNDS = 6
MANY = 11  # values of `darken` with a share in the belief: then every second is enough
FORGOTTEN = 1e-6  # pairs of rates that together are less likely than this change nothing that is shown
CELLS = 500_000  # numbers in one array of messages: 4 MB


@dataclass(frozen=True, eq=False)
class Rates:
    """A belief about the chances of change in a year of growth.

    `darken` and `back` [G] are pairs, `weight` [G] their chances.
    """

    darken: Array
    back: Array
    weight: Array

    def quantile(self, which: str, share: float) -> float:
        """The rate (`darken` or `back`) below which this share of the belief lies."""
        values = self.darken if which == "darken" else self.back
        grid, where = np.unique(values, return_inverse=True)
        held = np.bincount(where, self.weight)
        if len(grid) == 1:
            return float(grid[0])
        middle = _logits(grid)
        half = np.diff(middle) / 2
        edges = np.r_[middle[0] - half[0], middle[:-1] + half, middle[-1] + half[-1]]
        sums = np.r_[0.0, np.cumsum(held) / held.sum()]
        return _chance(float(np.interp(share, sums, edges)))

    def coarser(self) -> "Rates":
        """Fewer pairs to average over: of many `darken` every second, and none that weigh nothing.

        What is shown is an average over a smooth belief: this changes it by a thousandth at most.
        """
        _, where = np.unique(self.darken, return_inverse=True)
        held = np.bincount(where, self.weight)
        many = np.count_nonzero(held > held.max() * 1e-4) >= MANY
        kept = where % 2 == 0 if many else np.ones(len(where), dtype=bool)
        order = np.argsort(np.where(kept, self.weight, 0.0), kind="stable")
        kept[order[np.cumsum(self.weight[order] * kept[order]) <= FORGOTTEN]] = False
        weight = self.weight[kept]
        return Rates(self.darken[kept], self.back[kept], weight / weight.sum())


def known(darken: float, back: float) -> Rates:
    """Rates that are known: both above 0, together at most 1."""
    return Rates(np.array([darken]), np.array([back]), np.array([1.0]))


def learnt(parts: Sequence[Nodes]) -> Rates:
    """What these trees' notes teach; the starting belief where they have none.

    The grid is laid ever closer around the bulk of the belief, at first with a part of the trees only,
    whose belief is the wider one.
    """
    noted = [nodes for nodes in parts if nodes.noted]
    window = _Window(*zip(*_starting_window(), strict=True))
    if len(noted) > 1:
        _, window = _narrowed(window, noted[:1])
    return _narrowed(window, noted)[0]


def _narrowed(window: "_Window", parts: Sequence[Nodes]) -> "tuple[Rates, _Window]":
    """The belief on a grid laid closely enough, and the window of that grid."""
    for _ in range(ROUNDS):
        rates = _on_grid(window.axes, parts)
        finer = window.around(rates)
        if finer is None:
            break
        window = finer
    return rates, window


def _starting_window() -> list[tuple[float, float]]:
    return [
        (_logit(median) - REACH * spread, _logit(median) + REACH * spread)
        for median, spread in ((MEDIAN_DARKEN, SPREAD_DARKEN), (MEDIAN_BACK, SPREAD_BACK))
    ]


@dataclass(frozen=True)
class _Window:
    """The logits of the two rates that a grid covers."""

    low: tuple[float, ...]
    high: tuple[float, ...]

    @property
    def axes(self) -> list[Array]:
        return [np.linspace(*ends) for ends in zip(self.low, self.high, POINTS, strict=True)]

    def around(self, rates: Rates) -> "_Window | None":
        """A closer window around the bulk of a belief on this window's grid; None where it is fine enough."""
        weights = rates.weight.reshape(POINTS)
        bulk = [_bulk(axis, weights.sum(axis=1 - i)) for i, axis in enumerate(self.axes)]
        steps = [float(axis[1] - axis[0]) for axis in self.axes]
        if all(b - a >= fine * step for (a, b), fine, step in zip(bulk, FINE, steps, strict=True)):
            return None
        return _Window(
            tuple(max(low, a - step) for low, (a, _), step in zip(self.low, bulk, steps, strict=True)),
            tuple(min(high, b + step) for high, (_, b), step in zip(self.high, bulk, steps, strict=True)),
        )


def _on_grid(axes: Sequence[Array], parts: Sequence[Nodes]) -> Rates:
    darken, back = (part.ravel() for part in np.meshgrid(*map(_chances, axes), indexing="ij"))
    log = _log_belief(darken, MEDIAN_DARKEN, SPREAD_DARKEN) + _log_belief(back, MEDIAN_BACK, SPREAD_BACK)
    for nodes in parts:
        log += tree_evidence(nodes, darken, back).sum(axis=1)
    weight = np.exp(log - log.max())
    return Rates(darken, back, weight / weight.sum())


def tree_evidence(nodes: Nodes, darken: Array, back: Array) -> Array:
    """Log chance [G, trees] of each tree's notes at pairs of rates [G]."""
    return np.concatenate([
        log_evidence(nodes, pass_up(nodes, steps, nodes.seen)) for _, steps in in_parts(nodes, darken, back)
    ])  # fmt: skip


def in_parts(nodes: Nodes, darken: Array, back: Array) -> Iterator[tuple[slice, Mapping[int, Array]]]:
    """The pairs of rates a few at a time, so that messages stay small, with their chances of change."""
    rungs = nodes.seen.shape[1]
    size = max(1, CELLS // nodes.seen.size)
    for start in range(0, len(darken), size):
        part = slice(start, start + size)
        yield part, powers(transition(darken[part], back[part], rungs), nodes.years)


def _bulk(axis: Array, weight: Array) -> tuple[float, float]:
    """Where all but a hundred thousandth of the belief lies, to either side."""
    sums = np.cumsum(weight) / weight.sum()
    first = int(np.searchsorted(sums, 1e-5))
    last = int(np.searchsorted(sums, 1 - 1e-5))
    return float(axis[first]), float(axis[min(last, len(axis) - 1)])


def _log_belief(rate: Array, median: float, spread: float) -> Array:
    """Log density of the starting belief, on the scale of the logit."""
    return -0.5 * ((_logits(rate) - _logit(median)) / spread) ** 2


def _logit(rate: float) -> float:
    return math.log(rate / (1 - rate))


def _logits(rates: Array) -> Array:
    logits: Array = np.log(rates / (1 - rates))
    return logits


def _chance(logit: float) -> float:
    return 1 / (1 + math.exp(-logit))


def _chances(logits: Array) -> Array:
    chances: Array = 1 / (1 + np.exp(-logits))
    return chances
