"""The same problem given to HiGHS: closer to the best, for those who installed the extra `[level]`.

One thread, a fixed seed and no clock, so that the same problem gives the same plan on the same machine.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import highspy
import numpy as np

from care_planner.years.hours.lay import lay, swept
from care_planner.years.hours.lived import lived
from care_planner.years.hours.problem import (
    SETUP_PRICE,
    Floats,
    HoursProblem,
    Ints,
    Laid,
    Order,
    expected_loss,
    faults,
)

# The search ends when it is proven this near to the best, or after so many nodes (a clock would make the
# machine's speed part of the plan).
GAP = 0.05
GAP_OF_AVOIDABLE = 0.1
MOST_NODES = 200


@dataclass(frozen=True, eq=False)
class Solved:
    """A plan, and what no plan can be better than."""

    laid: Laid
    bound: float


def solve(problem: HoursProblem, gap: float = GAP, most_nodes: int = MOST_NODES) -> Solved:
    """The best of what the solver finds and the default pass; never worse than the default."""
    default = lay(problem)
    if not np.isfinite(problem.loss).any():
        return Solved(default, expected_loss(problem, default.trees))
    model = _Model(problem)
    relaxed = model.relaxed_bound()
    avoidable = expected_loss(problem, lived(problem)) - relaxed
    trees, bound = model.run(gap, GAP_OF_AVOIDABLE * max(avoidable, 0.0), most_nodes)
    found = [default.trees]
    if trees is not None and not faults(problem, trees):
        found += [trees, swept(problem, trees)]
    best = min(found, key=lambda one: expected_loss(problem, one))
    return Solved(Laid(best, default.prices), max(bound, relaxed))


def _solver(options: dict[str, float | int | bool]) -> highspy.Highs:
    solver = highspy.Highs()  # type: ignore[no-untyped-call]
    solver.silent()
    for option, value in {"threads": 1, "random_seed": 0, "parallel": "off", **options}.items():
        solver.setOptionValue(option, value)
    return solver


class _Model:
    """Columns: trees of a class on an allowed day, then a kind's set-up on a day. Rows: the limits."""

    def __init__(self, problem: HoursProblem) -> None:
        self.problem = problem
        self.cost = problem.cost()
        self.most = self._most_a_day()
        self.at: Ints = np.argwhere(np.isfinite(self.cost) & (self.most > 0))
        self.column = np.full(self.cost.shape, -1, dtype=np.int64)
        self.column[tuple(self.at.T)] = np.arange(len(self.at))
        self.rows: list[tuple[Ints, Floats, float]] = []
        self.lp = self._lp()

    def relaxed_bound(self) -> float:
        """The loss where trees and set-ups may be split."""
        solver = _solver({"solve_relaxation": True})
        solver.passModel(self.lp)
        solver.run()
        return float(solver.getInfo().objective_function_value)

    def run(self, gap: float, absolute: float, most_nodes: int) -> tuple[Ints | None, float]:
        """Whole trees, None where none were found, and the proven bound."""
        solver = _solver({"mip_rel_gap": gap, "mip_abs_gap": absolute, "mip_max_nodes": most_nodes})
        solver.passModel(self.lp)
        solver.run()
        info = solver.getInfo()
        values = np.array(solver.getSolution().col_value)
        if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return None, float(info.mip_dual_bound)
        trees: Ints = np.zeros(self.cost.shape, dtype=np.int64)
        trees[tuple(self.at.T)] = np.rint(values[: len(self.at)]).astype(np.int64)
        return trees, float(info.mip_dual_bound)

    def _most_a_day(self) -> Ints:
        problem = self.problem
        room = problem.capacity[None, :] - problem.setup[problem.kind][:, None]
        fits = np.floor(room / problem.minutes[:, None] + 1e-9)
        most: Ints = np.clip(fits, 0, problem.count[:, None]).astype(np.int64)
        return most

    def _lp(self) -> highspy.HighsLp:
        problem, trees = self.problem, len(self.at)
        kinds, days = len(problem.setup), len(problem.days)
        for row in (*self._counts(), *self._hours(), *self._set_ups(), *self._kinds(), *self._orders()):
            self.rows.append(row)
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = trees + kinds * days, len(self.rows)
        p, d = self.at.T
        lp.col_cost_ = np.concatenate(
            [self.cost[p, d] - problem.missed[p], np.repeat(problem.setup * SETUP_PRICE, days)]
        )
        lp.col_lower_ = np.zeros(lp.num_col_)
        lp.col_upper_ = np.concatenate([self.most[p, d].astype(float), np.ones(kinds * days)])
        lp.offset_ = float((problem.count * problem.missed).sum())
        lp.row_lower_ = np.full(len(self.rows), -highspy.kHighsInf)
        lp.row_upper_ = np.array([upper for _, _, upper in self.rows])
        lp.integrality_ = [highspy.HighsVarType.kInteger] * lp.num_col_
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.cumsum([0, *(len(columns) for columns, _, _ in self.rows)])
        lp.a_matrix_.index_ = np.concatenate([columns for columns, _, _ in self.rows])
        lp.a_matrix_.value_ = np.concatenate([values for _, values, _ in self.rows])
        return lp

    def _set_up(self, kind: int, day: int) -> int:
        return len(self.at) + kind * len(self.problem.days) + day

    def _counts(self) -> Iterator[tuple[Ints, Floats, float]]:
        for p, count in enumerate(self.problem.count):
            columns = self.column[p][self.column[p] >= 0]
            if len(columns):
                yield columns, np.ones(len(columns)), float(count)

    def _hours(self) -> Iterator[tuple[Ints, Floats, float]]:
        problem = self.problem
        kinds = range(len(problem.setup))
        for day in range(len(problem.days)):
            on = np.flatnonzero(self.column[:, day] >= 0)
            set_ups = np.array([self._set_up(kind, day) for kind in kinds])
            columns = np.concatenate([self.column[on, day], set_ups])
            yield columns, np.concatenate([problem.minutes[on], problem.setup]), float(problem.capacity[day])

    def _set_ups(self) -> Iterator[tuple[Ints, Floats, float]]:
        for column, (p, day) in enumerate(self.at):
            set_up = self._set_up(int(self.problem.kind[p]), int(day))
            yield np.array([column, set_up]), np.array([1.0, -float(self.most[p, day])]), 0.0

    def _kinds(self) -> Iterator[tuple[Ints, Floats, float]]:
        kinds = len(self.problem.setup)
        for day in np.flatnonzero(self.problem.most_kinds < kinds):
            columns = np.array([self._set_up(kind, int(day)) for kind in range(kinds)])
            yield columns, np.ones(kinds), float(self.problem.most_kinds[day])

    def _orders(self) -> Iterator[tuple[Ints, Floats, float]]:
        for order in self.problem.orders:
            for day in np.flatnonzero(self.column[order.later] >= 0):
                yield from self._order(order, int(day))

    def _order(self, order: Order, day: int) -> Iterator[tuple[Ints, Floats, float]]:
        """Later works up to a day, and first ones too late for them, are no more than there are trees."""
        days = self.problem.days
        ready_by = int(np.searchsorted(days, days[day] - order.gap, side="right"))
        late = self.column[order.first, ready_by:]
        late = late[late >= 0]
        done = self.column[order.later, : day + 1]
        done = done[done >= 0]
        if len(late):
            columns = np.concatenate([done, late])
            yield columns, np.ones(len(columns)), float(self.problem.count[order.first])
