"""Exact inference on a forest by passing messages, for many settings of the model at once. Pure.

The chain: in a year of growth wood of a rung darkens with chance `darken`, to any darker rung alike, and
goes back with chance `back`, to any lighter rung alike; at the ends of the ladder one of the two has
nowhere to go and the wood stays. A root's rung is not known: all alike. A branch's habit is drawn where its
line begins and stays.

Arrays are [G, n, H, K]: settings, nodes, habits, rungs. Messages are kept with a largest value of 1 and the
log of what was divided out, also while those of many children are multiplied, so that no number of notes
or of branches makes them vanish.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from care_planner.colours.flowers import Array, Whole
from care_planner.colours.slices import Level, Nodes

AT_A_TIME = 16  # messages multiplied before the product is rescaled


@dataclass(frozen=True, eq=False)
class Setting:
    """How wood behaves, for G settings: `steps` the chances [G, K, K] over each number of years, and `habits`
    [G, H] the chances of each habit where a line begins."""

    steps: Mapping[int, Array]
    habits: Array


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


def pass_up(nodes: Nodes, setting: Setting, seen: Array) -> Upward:
    """Gather what is seen (`seen` [n, H, K]) towards the roots."""
    beyond = np.ones((len(setting.habits), *seen.shape))
    up, sent = np.empty_like(beyond), np.empty_like(beyond)
    log = np.zeros(beyond.shape[:2])
    for level in reversed(nodes.levels):
        span = level.span
        here = np.multiply(beyond[:, span], seen[span], out=up[:, span])
        log[:, span] += _rescale(here)
        if not len(level.above):
            break
        grown = _step(here, level, nodes.years[span], setting, against=True)
        begins = np.flatnonzero(nodes.begins[span])
        # A child's habit says nothing of its parent's.
        grown[:, begins] = np.einsum("gnhk,gh->gnk", grown[:, begins], setting.habits)[:, :, None]
        sent[:, span] = grown
        product, logs = _products(grown, level.starts)
        beyond[:, level.above] = product
        log[:, level.above] += logs + np.add.reduceat(log[:, span], level.starts, axis=1)
    return Upward(up, sent, beyond, log)


def pass_down(
    nodes: Nodes, setting: Setting, upward: Upward, asked: NDArray[np.bool_] | None = None
) -> Downward:
    """Spread what all others say; every step must be possible, so that a message can be taken out again.

    With `asked` [n] only to these nodes, among which must be the parents of each.
    """
    rungs = upward.up.shape[3]
    down = np.repeat(setting.habits[:, None, :, None] / rungs, upward.up.shape[1], axis=1).repeat(
        rungs, axis=3
    )
    log = np.zeros(upward.log.shape)
    for level in nodes.levels[1:]:
        span = level.span
        here = np.arange(span.start, span.stop) if asked is None else np.flatnonzero(asked[span]) + span.start
        if not len(here):
            continue
        above = nodes.parent[here]
        rest = down[:, above] * upward.up[:, above]
        rest /= upward.sent[:, here]
        begins = np.flatnonzero(nodes.begins[here])
        rest[:, begins] = rest[:, begins].sum(axis=2, keepdims=True) * setting.habits[:, None, :, None]
        rest = _step(rest, level, nodes.years[here], setting)
        log[:, here] = log[:, above] + upward.log[:, above] - upward.log[:, here] + _rescale(rest)
        down[:, here] = rest
    return Downward(down, log)


def _products(messages: Array, starts: Whole) -> tuple[Array, Array]:
    """Products [G, parents, H, K] of the messages from each start to the next, rescaled, and the logs."""
    logs = np.zeros((len(messages), len(starts)))
    ends = np.r_[starts[1:], messages.shape[1]]
    while messages.shape[1] > len(starts):
        counts = -(-(ends - starts) // AT_A_TIME)
        offsets = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
        messages = np.multiply.reduceat(messages, np.repeat(starts, counts) + AT_A_TIME * offsets, axis=1)
        starts = np.cumsum(counts) - counts
        ends = starts + counts
        logs += np.add.reduceat(_rescale(messages), starts, axis=1)
    return messages, logs


def _rescale(messages: Array) -> Array:
    """Divide each by its largest value, in place; the logs of these."""
    most = messages.reshape(*messages.shape[:2], -1).max(axis=2)
    messages /= most[..., None, None]
    logs: Array = np.log(most)
    return logs


def _step(messages: Array, level: Level, years: Whole, setting: Setting, against: bool = False) -> Array:
    """Messages [G, n, H, K] carried over each node's years; `against` is against the growth."""
    if level.years is not None:
        return _times(messages, setting.steps[level.years], against)
    out = np.empty_like(messages)
    for year in np.unique(years).tolist():
        out[:, years == year] = _times(messages[:, years == year], setting.steps[year], against)
    return out


def _times(messages: Array, step: Array, against: bool) -> Array:
    flat = messages.reshape(len(messages), -1, messages.shape[3])
    carried: Array = np.matmul(flat, step.transpose(0, 2, 1) if against else step)
    return carried.reshape(messages.shape)


def log_evidence(nodes: Nodes, setting: Setting, upward: Upward) -> Array:
    """Log chance [G, trees] of all that was noted on each tree."""
    roots = upward.up[:, nodes.roots].mean(axis=3)
    log: Array = upward.log[:, nodes.roots] + np.log(np.einsum("gnh,gh->gn", roots, setting.habits))
    return log
