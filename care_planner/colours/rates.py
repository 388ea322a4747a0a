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
COARSE = (7, 7)  # grid points of darken and back while the belief is looked for
POINTS = (21, 11)  # and of the grid that is averaged over
CLOSE = 3  # coarse steps that must hold the bulk of each belief, else the grid is laid anew around it
ROUNDS = 8
MANY = 11  # values of `darken` with a share in the belief: then every second is enough
FORGOTTEN = 1e-6  # pairs of rates that together are less likely than this change nothing that is shown
BETWEEN = 16  # points of a density from one grid point to the next
CUT_OFF = 1e-3  # of the belief at the very edge of a grid: more goes on beyond it
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
        if len(grid) == 1:
            return float(grid[0])
        logit, density = _smooth(_logits(grid), np.bincount(where, self.weight).astype(np.float64))
        sums = np.r_[0.0, np.cumsum((density[1:] + density[:-1]) / 2)]
        return _chance(float(np.interp(share * sums[-1], sums, logit)))

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

    A coarse grid is laid ever closer around the bulk of the belief, at first with few of the trees, whose
    belief is the wider one; then a finer one.
    """
    noted = [nodes for nodes in parts if nodes.noted]
    start = _starting_window()
    window = start
    for share in (25, 5, 1):
        window = _narrowed(window, noted[: math.ceil(len(noted) / share)])
    rates = _on_grid(window.axes(POINTS), noted)
    if window.cuts_off(rates, start):  # the few trees spoke of other rates than all do
        rates = _on_grid(_narrowed(start, noted).axes(POINTS), noted)
    return rates


def _narrowed(window: "_Window", parts: Sequence[Nodes]) -> "_Window":
    """A window close around the belief that these trees leave."""
    for _ in range(ROUNDS):
        closer = window.around(_on_grid(window.axes(COARSE), parts))
        if closer is None:
            break
        window = closer
    return window


@dataclass(frozen=True)
class _Window:
    """The logits of the two rates that a grid covers."""

    low: tuple[float, float]
    high: tuple[float, float]

    def axes(self, points: tuple[int, int]) -> list[Array]:
        """The grid's values along each rate."""
        return [np.linspace(*ends) for ends in zip(self.low, self.high, points, strict=True)]

    def around(self, rates: Rates) -> "_Window | None":
        """A closer window around the bulk of a belief on the coarse grid; None where this is close enough."""
        low, high, is_close = list(self.low), list(self.high), True
        for i, axis in enumerate(self.axes(COARSE)):
            first, last = _bulk(rates.weight.reshape(COARSE).sum(axis=1 - i))
            is_close &= last - first >= CLOSE
            low[i], high[i] = float(axis[max(first - 1, 0)]), float(axis[min(last + 1, len(axis) - 1)])
        return None if is_close else _Window((low[0], low[1]), (high[0], high[1]))

    def cuts_off(self, rates: Rates, start: "_Window") -> bool:
        """Whether a belief on the fine grid goes on beyond this window, where the starting one went on."""
        for i in (0, 1):
            held = rates.weight.reshape(POINTS).sum(axis=1 - i)
            if (self.low[i] > start.low[i] and held[0] > CUT_OFF) or (
                self.high[i] < start.high[i] and held[-1] > CUT_OFF
            ):
                return True
        return False


def _starting_window() -> _Window:
    darken, back = _logit(MEDIAN_DARKEN), _logit(MEDIAN_BACK)
    away = REACH * SPREAD_DARKEN, REACH * SPREAD_BACK
    return _Window((darken - away[0], back - away[1]), (darken + away[0], back + away[1]))


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


def _bulk(weight: Array) -> tuple[int, int]:
    """The grid points beyond which a hundred thousandth of the belief lies, to either side."""
    sums = np.cumsum(weight) / weight.sum()
    return int(np.searchsorted(sums, 1e-5)), int(np.searchsorted(sums, 1 - 1e-5))


def _smooth(grid: Array, weight: Array) -> tuple[Array, Array]:
    """A density at many points between those of an even grid.

    Its logarithm is a cubic between each two points, with the slopes of their neighbours (Catmull-Rom), so
    that a normal density is met exactly.
    """
    log = np.log(np.maximum(weight, 1e-300))
    log = np.r_[3 * (log[0] - log[1]) + log[2], log, 3 * (log[-1] - log[-2]) + log[-3]]
    before, here, after, beyond = (log[i : len(log) - 3 + i, None] for i in range(4))
    at = np.arange(BETWEEN) / BETWEEN
    cubic = here + at / 2 * (
        after
        - before
        + at * (2 * before - 5 * here + 4 * after - beyond + at * (3 * (here - after) + beyond - before))
    )
    points = np.r_[(grid[:-1, None] + at * (grid[1] - grid[0])).ravel(), grid[-1]]
    return points, np.exp(np.r_[cubic.ravel(), log[-2]])


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
