"""What is not known of the model itself, learnt from the grower's own notes on a fixed grid. Pure.

Nothing has been published of any of these, so the starting beliefs are wide. The chance that a branch's
wood darkens in a year of growth has a median of 5 % (80 % of the belief: 1.3 to 18 %), that it goes back
0.3 % (0.05 to 1.8 %): common practice put into numbers, no source ("as a rule it only darkens", "a solid
branch almost never goes back"). How much of its own form wood shows (its habit: a half on average, but for
one collection anything from a fifth to four fifths) and how many notes are mistaken (1 to 10 %) are starting
values; `MISTAKES` was chosen by simulation (tests/benchmarks/colour_worlds.py).
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from care_planner.colours.flowers import Array
from care_planner.colours.passing import Setting, log_evidence, pass_up, powers, transition
from care_planner.colours.slices import HABITS, Nodes

MEDIAN_DARKEN, SPREAD_DARKEN = 0.05, 1.1  # the spread is that of the logit
MEDIAN_BACK, SPREAD_BACK = 0.003, 1.4
REACH = 3.0  # spreads to either side that the grid covers
POINTS = (15, 5)  # grid points of darken and back
SHOWS = ((0.2, 1.0), (0.4, 1.0), (0.6, 1.0), (0.8, 1.0))  # mean habit, and its weight
SPREAD_OF_HABITS = 0.7  # of the logit of a branch's habit around the mean. Starting value
MISTAKES = ((0.01, 1.0), (0.03, 2.0), (0.1, 1.0))  # share of notes that are of other wood, and its weight
FORGOTTEN = 1e-3  # settings that together are less likely than this are not averaged over
BETWEEN = 16  # points of a density from one grid point to the next
CELLS = 100_000  # numbers in one array of messages: what a processor's cache holds


@dataclass(frozen=True, eq=False)
class Rates:
    """A belief about how wood behaves and how notes err: settings [G] and their chances `weight` [G].

    `darken` and `back` are chances of change in a year of growth, `shows` the mean share of its own form that
    wood shows, `mistakes` the share of notes that are of other wood. `habits` are those a branch can have.
    """

    darken: Array
    back: Array
    shows: Array
    mistakes: Array
    weight: Array
    habits: tuple[float, ...] = HABITS

    def quantile(self, which: str, part: float) -> float:
        """The value (of `darken` or `back`) below which this part of the belief lies."""
        grid, where = np.unique(getattr(self, which), return_inverse=True)
        if len(grid) == 1:
            return float(grid[0])
        logit, density = _smooth(_logits(grid), np.bincount(where, self.weight).astype(np.float64))
        sums = np.r_[0.0, np.cumsum((density[1:] + density[:-1]) / 2)]
        return _chance(float(np.interp(part * sums[-1], sums, logit)))

    def mean(self, which: str) -> float:
        """The mean of `darken`, `back`, `shows` or `mistakes`."""
        return float(self.weight @ getattr(self, which))

    def heaviest(self) -> "Rates":
        """Without the settings that together weigh next to nothing."""
        order = np.argsort(self.weight, kind="stable")
        kept = np.sort(order[np.cumsum(self.weight[order]) > FORGOTTEN])
        return self.part(kept, self.weight[kept] / self.weight[kept].sum())

    def part(self, kept: "slice | np.ndarray", weight: Array) -> "Rates":
        """Some of the settings, with these weights."""
        values = (self.darken[kept], self.back[kept], self.shows[kept], self.mistakes[kept])
        return Rates(*values, weight, self.habits)


def known(darken: float, back: float, shows: float = 2 / 3, mistakes: float = 0.0) -> Rates:
    """Rates that are known (both above 0, together at most 1), every branch of the same habit."""
    d, b, s, m, weight = (np.array([one]) for one in (darken, back, shows, mistakes, 1.0))
    return Rates(d, b, s, m, weight, (shows,))


def starting() -> Rates:
    """The belief before any note: a fixed grid, even on the scale of the logit."""
    axes = [
        np.linspace(_logit(median) - REACH * spread, _logit(median) + REACH * spread, points)
        for median, spread, points in zip(
            (MEDIAN_DARKEN, MEDIAN_BACK), (SPREAD_DARKEN, SPREAD_BACK), POINTS, strict=True
        )
    ]
    shows, mistakes = (np.array([value for value, _ in axis]) for axis in (SHOWS, MISTAKES))
    # Mistakes last and slowest, so that settings of one share of mistakes lie side by side.
    m, d, b, s = (a.ravel() for a in np.meshgrid(mistakes, *map(_chances, axes), shows, indexing="ij"))
    weights = (dict(MISTAKES), dict(SHOWS))
    prior = np.array([weights[0][x] * weights[1][y] for x, y in zip(m.tolist(), s.tolist(), strict=True)])
    prior *= np.exp(_log_belief(d, MEDIAN_DARKEN, SPREAD_DARKEN) + _log_belief(b, MEDIAN_BACK, SPREAD_BACK))
    return Rates(d, b, s, m, prior / prior.sum())


def learnt(parts: Sequence[Nodes], before: Rates | None = None) -> Rates:
    """What these trees' notes teach; the starting belief where they have none."""
    rates = before or starting()
    log = np.log(rates.weight)
    for nodes in parts:
        if nodes.noted:
            log += tree_evidence(nodes, rates).sum(axis=1)
    weight = np.exp(log - log.max())
    return rates.part(slice(None), weight / weight.sum())


def tree_evidence(nodes: Nodes, rates: Rates) -> Array:
    """Log chance [G, trees] of each tree's notes at each setting."""
    logs = np.empty((len(rates.weight), len(nodes.lineages)))
    for places, setting, seen in in_parts(nodes, rates):
        logs[places] = log_evidence(nodes, setting, pass_up(nodes, setting, seen))
    return logs


def in_parts(nodes: Nodes, rates: Rates) -> Iterator[tuple["np.ndarray", Setting, Array]]:
    """The settings a few at a time, so that messages stay small, each part of one share of mistakes: their
    places in `rates`, how wood behaves in them, and the likelihood [n, H, K] of what was noted."""
    size = max(1, CELLS // nodes.cells)
    for mistakes in np.unique(rates.mistakes).tolist():
        seen = nodes.seen(mistakes)
        places = np.flatnonzero(rates.mistakes == mistakes)
        for start in range(0, len(places), size):
            part = places[start : start + size]
            step = transition(rates.darken[part], rates.back[part], nodes.rungs)
            habits = habit_chances(rates.shows[part], rates.habits)
            yield part, Setting(powers(step, nodes.years), habits), seen


def habit_chances(shows: Array, habits: Sequence[float]) -> Array:
    """Chances [G, H] of a branch's habit where wood shows its own form with this mean share."""
    away = (_logits(np.array(habits))[None, :] - _logits(shows)[:, None]) / SPREAD_OF_HABITS
    chance = np.exp(-0.5 * away**2)
    scaled: Array = chance / chance.sum(axis=1, keepdims=True)
    return scaled


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
