"""Works laid one class after the other, those that save most loss a minute first."""

from collections import defaultdict
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from care_planner.years.hours.lived import lived
from care_planner.years.hours.prices import day_prices
from care_planner.years.hours.problem import (
    SETUP_PRICE,
    Floats,
    HoursProblem,
    Ints,
    Laid,
    Order,
    expected_loss,
    order_room,
)

# How strongly the day prices speak while works are laid: several answers are made, the best is kept.
PRICE_SHARES = (1.0, 0.5)
SWEEPS = 2
# The plan that is kept is swept until nothing changes, so that planning anew changes nothing either.
MOST_SWEEPS = 12
# A plan that leaves the published days must save this part of the loss (starting value).
WORTH_LEAVING = 0.02


def lay(problem: HoursProblem) -> Laid:
    """The default: day prices, one pass by loss saved a minute, then each class once more where it is best.

    Never worse than days by best date with the rest slipping, since that plan is one of those compared.
    Where days were published, those that still fit stand, but for works that gain more by a move than it
    costs, unless leaving them saves much. Pure and the same for the same problem; ties go to the earlier day
    and the smaller key.
    """
    prices = day_prices(problem)
    found = [lived(problem)]
    for share in PRICE_SHARES:
        table = _Table(problem, prices * share)
        for p in table.in_turn():
            table.place(p)
        found.append(swept(problem, table.trees))
    best = min(found, key=lambda trees: expected_loss(problem, trees))
    best = swept(problem, best, MOST_SWEEPS)
    if (problem.stands >= 0).any():
        stood = swept(problem, _standing(problem), MOST_SWEEPS)
        least = (1 - WORTH_LEAVING) * expected_loss(problem, stood)
        best = stood if expected_loss(problem, best) >= least else best
    return Laid(best, prices)


def _standing(problem: HoursProblem) -> Ints:
    """Published days as far as they still fit, the rest laid beside them."""
    table = _Table(problem, np.zeros(len(problem.days)))
    turn = table.in_turn()
    for p in turn:
        if problem.stands[p] >= 0:
            table.place_on(p, int(problem.stands[p]))
    for p in turn:
        table.place(p)
    return table.trees


def swept(problem: HoursProblem, trees: Ints, sweeps: int = SWEEPS) -> Ints:
    """Each class of a plan taken off its days and laid anew where it is best beside all others.

    A class is passed over while nothing has changed that could lay it otherwise.
    """
    table = _Table(problem, np.zeros(len(problem.days)))
    for p, day in np.argwhere(trees):
        table.put(int(p), int(day), int(trees[p, day]))
    stale = np.ones(len(trees), dtype=bool)
    most_paid = np.full(len(trees), np.inf)  # by a tree of each class: dearer days cannot draw it
    turn = table.in_turn()
    for _ in range(sweeps):
        for p in turn:
            if not stale[p]:
                continue
            stale[p] = False
            before = table.trees[p].copy()
            most_paid[p] = _laid_anew(table, p, before)
            changed = np.flatnonzero(table.trees[p] != before)
            if len(changed):
                stale |= table.drawn_to(changed, most_paid) | (table.trees[:, changed] > 0).any(axis=1)
                stale[table.beside(p)] = True
                stale[p] = False
        if not stale.any():
            break
    return table.trees


def _laid_anew(table: "_Table", p: int, before: Ints) -> float:
    """Lay a class anew unless that costs more; the most that a tree of it pays then, at most."""
    if table.lies_best(p):
        return table.most_paid(p)
    cost = table.cost_of(p)
    table.take_up(p)
    table.place(p)
    if table.cost_of(p) <= cost:
        return table.most_paid(p)
    table.take_up(p)
    for day in np.flatnonzero(before):
        table.put(p, int(day), int(before[day]))
    return np.inf


class _Table:
    """A plan being laid: trees, free minutes and kinds of each day."""

    def __init__(self, problem: HoursProblem, prices: Floats) -> None:
        self.problem, self.prices = problem, prices
        self.cost = problem.cost()
        self.barred = ~np.isfinite(self.cost)
        self.cheapest = self.cost.argmin(axis=1)
        self.trees: Ints = np.zeros(problem.loss.shape, dtype=np.int64)
        self.free = problem.capacity.astype(float).copy()
        self.held = np.zeros((len(problem.setup), len(problem.days)), dtype=np.int64)  # trees of a kind
        self.kinds = np.zeros(len(problem.days), dtype=np.int64)
        self.before: defaultdict[int, list[Order]] = defaultdict(list)
        self.behind: defaultdict[int, list[Order]] = defaultdict(list)
        for order in problem.orders:
            self.before[order.later].append(order)
            self.behind[order.first].append(order)

    def in_turn(self) -> list[int]:
        """Classes by loss saved a minute; what must come first stands before what waits for it."""
        problem = self.problem
        work = problem.minutes + problem.setup[problem.kind] / np.maximum(problem.count, 1)
        best = (self.cost + problem.minutes[:, None] * self.prices).min(axis=1)
        saved = np.where(np.isfinite(best), problem.missed - best, -np.inf) / work
        turn: list[int] = []
        put: set[int] = set()
        for p in np.argsort(-saved, kind="stable"):
            self._with_what_is_first(int(p), turn, put)
        return turn

    def _with_what_is_first(self, p: int, turn: list[int], put: set[int]) -> None:
        if p in put:
            return
        put.add(p)
        for order in self.before[p]:
            self._with_what_is_first(order.first, turn, put)
        turn.append(p)

    def beside(self, p: int) -> list[int]:
        """Classes that stand in an order with it."""
        return [order.first for order in self.before[p]] + [order.later for order in self.behind[p]]

    def place(self, p: int) -> None:
        """Lay the trees of a class that have no day: the cheapest day first, as many as it takes."""
        problem = self.problem
        kind, minutes = problem.kind[p], problem.minutes[p]
        setup = problem.setup[kind]
        remaining = int(problem.count[p] - self.trees[p].sum())
        alone = self.cost[p] + minutes * self.prices
        setup_price = setup * (SETUP_PRICE + self.prices)
        while remaining:
            new = self.held[kind] == 0
            takes = self._takes(p)
            together = np.minimum(np.maximum(takes, 1), remaining)
            asked = alone + new * setup_price / together
            asked[takes < 1] = np.inf
            day = int(asked.argmin())
            if not asked[day] < problem.missed[p]:
                return
            remaining -= self.put(p, day, int(min(takes[day], remaining)))

    def place_on(self, p: int, day: int) -> None:
        """Lay on a day as many trees of a class as it takes."""
        self.put(p, day, int(min(max(self._takes(p)[day], 0), self.problem.count[p])))

    def _takes(self, p: int) -> Floats:
        """How many trees of a class each day takes."""
        problem, kind = self.problem, self.problem.kind[p]
        new = self.held[kind] == 0
        takes = np.floor((self.free - problem.setup[kind] * new) / problem.minutes[p] + 1e-9)
        for room in self._rooms(p):
            np.minimum(takes, room, out=takes)
        takes[new & (self.kinds >= problem.most_kinds)] = 0
        takes[self.barred[p]] = 0
        return np.asarray(takes)

    def lies_best(self, p: int) -> bool:
        """Whether all of a class lie on its cheapest day beside others of its kind: no day is better."""
        day, count = self.cheapest[p], self.problem.count[p]
        return bool(self.trees[p, day] == count and self.held[self.problem.kind[p], day] > count)

    def take_up(self, p: int) -> None:
        """Take a class off its days."""
        for day in np.flatnonzero(self.trees[p]):
            self.put(p, int(day), -int(self.trees[p, day]))

    def cost_of(self, p: int) -> float:
        """What a class costs as it lies, with the set-ups that only it needs."""
        kind, left, cost = self.problem.kind[p], int(self.problem.count[p]), 0.0
        for day in np.flatnonzero(self.trees[p]):
            trees = int(self.trees[p, day])
            left -= trees
            cost += float(self.cost[p, day]) * trees
            if self.held[kind, day] == trees:
                cost += SETUP_PRICE * float(self.problem.setup[kind])
        return cost + left * float(self.problem.missed[p])

    def drawn_to(self, days: Ints, most_paid: Floats) -> NDArray[np.bool_]:
        """Classes of which one of these days would take a tree, for no more than is paid now [p]."""
        problem = self.problem
        new = self.held[problem.kind][:, days] == 0
        asks = problem.minutes[:, None] + problem.setup[problem.kind, None] * new
        room = (self.free[days] >= asks - 1e-6) & ~(new & (self.kinds >= problem.most_kinds)[days])
        found: NDArray[np.bool_] = (room & (self.cost[:, days] <= most_paid[:, None])).any(axis=1)
        return found

    def most_paid(self, p: int) -> float:
        """What a tree of a class pays at most where it lies, or for being left out."""
        problem, on = self.problem, np.flatnonzero(self.trees[p])
        laid = self.cost[p, on].max(initial=0.0) + SETUP_PRICE * problem.setup[problem.kind[p]]
        left = self.trees[p, on].sum() < problem.count[p]
        return float(max(laid, problem.missed[p]) if left else laid)

    def put(self, p: int, day: int, trees: int) -> int:
        """Put trees of a class on a day, or take them off it."""
        kind = self.problem.kind[p]
        before = self.held[kind, day]
        self.trees[p, day] += trees
        self.held[kind, day] += trees
        turned = int(self.held[kind, day] > 0) - int(before > 0)
        self.kinds[day] += turned
        self.free[day] -= trees * self.problem.minutes[p] + turned * self.problem.setup[kind]
        return trees

    def _rooms(self, p: int) -> Iterator[Floats | Ints]:
        """How many trees of a class each day bears for the sake of each order it stands in."""
        for order in self.before[p]:
            bears = order_room(self.problem, self.trees, order)
            yield np.minimum.accumulate(bears[::-1])[::-1]
        for order in self.behind[p]:
            yield self._bears_first(order)

    def _bears_first(self, order: Order) -> Floats:
        """Days of a class whose later works are laid already: none may come too late for those.

        A tree that has no day yet counts as left out, and holds nobody up; on a day it takes that freedom
        away from the days before it.
        """
        spare = order_room(self.problem, self.trees, order)
        days = self.problem.days
        # A tree done on day d is no longer free for later works up to d + gap - 1.
        upto = np.searchsorted(days, days + order.gap, side="left")
        least = np.minimum.accumulate(spare)
        return np.where(upto > 0, least[upto - 1], np.inf).astype(float)
