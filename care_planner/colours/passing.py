"""Exact inference on a forest by passing messages, for many pairs of rates at once. Pure.

The chain: in a year of growth wood of a rung darkens with chance `darken`, to any darker rung alike, and
goes back with chance `back`, to any lighter rung alike; at the ends of the ladder one of the two has
nowhere to go and the wood stays. A root's rung is not known: all alike.

Arrays are [G, n, K]: pairs of rates, nodes, rungs. Messages are kept with a sum of 1 and the log of what
was divided out, so that no number of notes makes them vanish.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from care_planner.colours.flowers import Array
from care_planner.colours.slices import Nodes, Whole


@dataclass(frozen=True, eq=False)
class Upward:
    """From the tips to the roots.

    `up` is what is known at a node and beyond it, `sent` what that tells its parent, `beyond` what is
    known without the flowers seen at the node itself.
    """

    up: Array
    sent: Array
    beyond: Array
    log: Array  # [G, n]: log of what was divided out of `up`


@dataclass(frozen=True, eq=False)
class Downward:
    """From the roots to the tips: `down` what all the rest of the tree says of a node."""

    down: Array
    log: Array


def transition(darken: Array, back: Array, rungs: int) -> Array:
    """Chance [G, from, to] of each step in one year of growth."""
    step = np.zeros((len(darken), rungs, rungs))
    for rung in range(rungs):
        if rung + 1 < rungs:
            step[:, rung, rung + 1 :] = (darken / (rungs - 1 - rung))[:, None]
        if rung:
            step[:, rung, :rung] = (back / rung)[:, None]
        step[:, rung, rung] = 1 - step[:, rung].sum(axis=1)
    return step


def powers(step: Array, years: Whole) -> Mapping[int, Array]:
    """The chances over each number of years asked for."""
    return {int(year): np.linalg.matrix_power(step, int(year)) for year in np.unique(years)}


def pass_up(nodes: Nodes, steps: Mapping[int, Array], seen: Array) -> Upward:
    """Gather what is seen (`seen` [n, K]) towards the roots."""
    pairs = len(next(iter(steps.values())))
    beyond = np.ones((pairs, *seen.shape))
    up, sent = np.empty_like(beyond), np.empty_like(beyond)
    log = np.zeros(beyond.shape[:2])
    for level in reversed(nodes.levels):
        span = level.span
        here = np.multiply(beyond[:, span], seen[span], out=up[:, span])
        log[:, span] += _normalise(here)
        _step(here, level.years, nodes.years[span], steps, sent[:, span], back=True)
        if len(level.above):
            beyond[:, level.above] = np.multiply.reduceat(sent[:, span], level.starts, axis=1)
            log[:, level.above] += np.add.reduceat(log[:, span], level.starts, axis=1)
    return Upward(up, sent, beyond, log)


def pass_down(
    nodes: Nodes, steps: Mapping[int, Array], upward: Upward, asked: NDArray[np.bool_] | None = None
) -> Downward:
    """Spread what all others say; every step must be possible, so that a message can be taken out again.

    With `asked` [n] only to these nodes, among which must be the parents of each.
    """
    down = np.full_like(upward.up, 1 / upward.up.shape[2])
    log = np.zeros(upward.log.shape)
    for level in nodes.levels[1:]:
        span = level.span
        here = span if asked is None else np.flatnonzero(asked[span]) + span.start
        above = nodes.parent[here]
        rest = down[:, above] * upward.up[:, above]
        rest /= upward.sent[:, here]
        rest = _step(rest, level.years, nodes.years[here], steps, np.empty_like(rest))
        log[:, here] = log[:, above] + upward.log[:, above] - upward.log[:, here] + _normalise(rest)
        down[:, here] = rest
    return Downward(down, log)


def _normalise(messages: Array) -> Array:
    """Divide each by its sum, in place; the logs of the sums."""
    total = messages @ np.ones(messages.shape[2])  # several times faster than sum() over so short an axis
    messages /= total[..., None]
    logs: Array = np.log(total)
    return logs


def _step(
    messages: Array,
    all_years: int | None,
    years: Whole,
    steps: Mapping[int, Array],
    out: Array,
    back: bool = False,
) -> Array:
    """Carry messages [G, n, K] over each node's years into `out`; `back` is against the growth."""
    if all_years is not None:
        step = steps[all_years]
        return np.matmul(messages, step.transpose(0, 2, 1) if back else step, out=out)
    for year in np.unique(years).tolist():
        step = steps[year].transpose(0, 2, 1) if back else steps[year]
        out[:, years == year] = messages[:, years == year] @ step
    return out


def log_evidence(nodes: Nodes, upward: Upward) -> Array:
    """Log chance [G, trees] of all that was noted on each tree."""
    log: Array = upward.log[:, nodes.roots] + np.log(upward.up[:, nodes.roots].mean(axis=2))
    return log
