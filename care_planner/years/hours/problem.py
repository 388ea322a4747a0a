"""Works to lay into hours, as arrays: classes of equal works by days on which somebody has time.

The loss of a plan is a sum over works, so its mean over the members is one number for each work and day,
and no member needs to be looked at here. Trees whose works have the same numbers are one class, laid tree
by tree or many together.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# What a minute of set-up costs beside the losses, so that the same work is done together (starting value).
SETUP_PRICE = 0.02


@dataclass(frozen=True, slots=True)
class Order:
    """The work of class `later` comes `gap` days or more after that of class `first`, tree by tree.

    A rest is such a gap. What is left out of the first holds nobody up.
    """

    first: int
    later: int
    gap: int


@dataclass(frozen=True, eq=False)
class HoursProblem:
    """Classes [p] in the order of their keys, days [d] with time, kinds of set-up [k].

    `days` are ordinals, rising; `capacity` the minutes of each; `most_kinds` how many kinds of work it may
    hold. A class has `count` trees, `minutes` a tree, its `kind`, the expected `loss` of a tree on each day
    (inf: not allowed) and what it costs to leave it out, `missed`. `stands` is the day (an index, -1: none)
    on which it was published, and `move_price` what leaving it costs a tree. `setup` are minutes for each
    kind and day.
    """

    days: Ints
    capacity: Floats
    most_kinds: Ints
    kind: Ints
    count: Ints
    minutes: Floats
    loss: Floats
    missed: Floats
    stands: Ints
    setup: Floats
    orders: tuple[Order, ...] = ()
    move_price: float = 0.0
    _ready_by: dict[int, Ints] = field(default_factory=dict, repr=False)

    def ready_by(self, gap: int) -> Ints:
        """For each day, how many days there are up to so many days before it."""
        if gap not in self._ready_by:
            self._ready_by[gap] = np.searchsorted(self.days, self.days - gap, side="right")
        return self._ready_by[gap]

    def cost(self) -> Floats:
        """The loss of a tree on each day, with the price of a move."""
        moved = np.where(self.stands >= 0, self.move_price, 0.0)
        cost = self.loss + moved[:, None]
        at = np.flatnonzero(self.stands >= 0)
        cost[at, self.stands[at]] -= moved[at]
        return cost


@dataclass(frozen=True, eq=False)
class Laid:
    """Trees of each class on each day [p, d], and the prices of a minute on each day that led there."""

    trees: Ints
    prices: Floats

    def left(self, problem: HoursProblem) -> Ints:
        """Trees of each class that found no day."""
        left: Ints = problem.count - self.trees.sum(axis=1)
        return left


def expected_loss(problem: HoursProblem, trees: Ints) -> float:
    """The loss of a plan: that of each work's day, of what is left out, and the price of set-ups."""
    done = np.where(trees > 0, problem.cost(), 0.0) * trees
    left = (problem.count - trees.sum(axis=1)) * problem.missed
    return float(done.sum() + left.sum() + SETUP_PRICE * (kinds_on(problem, trees) @ problem.setup).sum())


def kinds_on(problem: HoursProblem, trees: Ints) -> NDArray[np.bool_]:
    """Whether a kind is worked on a day [d, k]."""
    on = np.zeros((len(problem.days), len(problem.setup)), dtype=bool)
    for kind in range(len(problem.setup)):
        on[:, kind] = trees[problem.kind == kind].any(axis=0)
    return on


def minutes_on(problem: HoursProblem, trees: Ints) -> Floats:
    """Minutes of each day, set-ups with them."""
    minutes: Floats = problem.minutes @ trees + kinds_on(problem, trees) @ problem.setup
    return minutes


def faults(problem: HoursProblem, trees: Ints) -> list[str]:
    """What a plan breaks: hours, kinds a day, windows, counts, order. Empty where it may be lived."""
    found = []
    if (minutes_on(problem, trees) > problem.capacity + 1e-6).any():
        found.append("a day holds more than its hours")
    if (kinds_on(problem, trees).sum(axis=1) > problem.most_kinds).any():
        found.append("a day holds too many kinds of work")
    if (trees[~np.isfinite(problem.loss)] > 0).any():
        found.append("a work outside its window")
    if (trees < 0).any() or (trees.sum(axis=1) > problem.count).any():
        found.append("more trees than there are")
    for order in problem.orders:
        if (order_room(problem, trees, order) < 0).any():
            found.append(f"class {order.later} comes too soon after class {order.first}")
    return found


def order_room(problem: HoursProblem, trees: Ints, order: Order) -> Ints:
    """How many more trees of the later class each day would still bear up to it [d]."""
    done = np.empty(len(problem.days) + 1, dtype=np.int64)
    done[0] = 0
    trees[order.first].cumsum(out=done[1:])
    free = problem.count[order.first] - done[-1]
    room: Ints = done[problem.ready_by(order.gap)] - trees[order.later].cumsum() + free
    return room


def with_rain(loss: Floats, wet: Floats, missed: float) -> Floats:
    """Losses [d] of a work that slips to the next day with time where it rains; if that one is too late it is
    missed. `wet` are the shares of wet days [d]."""
    following = np.append(loss[1:], np.inf)
    slipped = np.where(np.isfinite(following), following, missed)
    found: Floats = np.where(np.isfinite(loss), (1 - wet) * loss + wet * slipped, loss)
    return found
