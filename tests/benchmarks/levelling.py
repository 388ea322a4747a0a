"""How much avoidable loss levelling wins back, by method; python tests/benchmarks/levelling.py [--solver].

Avoidable: the loss of the unlevelled plan lived (every work on its best day, urgent first, the rest slips)
less the best bound. The bound is what the solver proved, so it is too low where the gap stays open, and the
shares are told a little too small. Without --solver the bound is that of the relaxed problem.
"""

import sys
from time import process_time

import numpy as np
from levelling_cases import case

from care_planner.years.hours.lay import lay
from care_planner.years.hours.lived import lived
from care_planner.years.hours.problem import HoursProblem, expected_loss, faults
from care_planner.years.hours.solve import solve

SAT, SUN = 5, 6
CASES: dict[str, tuple[int, dict[int, float]]] = {
    "12 trees, fits: Sat 3 h": (12, {SAT: 180}),
    "12 trees, over-full: Sat 50 min": (12, {SAT: 50}),
    "60 trees, fits: Sat and Sun 4 h": (60, {SAT: 240, SUN: 240}),
    "60 trees, over-full: Sat 3 h": (60, {SAT: 180}),
    "500 trees, tight: Sat and Sun 24 h": (500, {SAT: 1440, SUN: 1440}),
    "500 trees, over-full: Sat and Sun 8 h": (500, {SAT: 480, SUN: 480}),
}


def measured(problem: HoursProblem, with_solver: bool) -> list[str]:
    """Columns of one case."""
    before = lived(problem)
    start = process_time()
    default = lay(problem)
    took = process_time() - start
    start = process_time()
    solved = solve(problem, most_nodes=200 if with_solver else 0)
    solver_took = process_time() - start
    for name, trees in (("lived", before), ("default", default.trees), ("solver", solved.laid.trees)):
        if wrong := faults(problem, trees):
            raise SystemExit(f"{name}: {wrong}")
    was, now, best = (expected_loss(problem, trees) for trees in (before, default.trees, solved.laid.trees))
    avoidable = was - solved.bound
    work = float((problem.minutes * problem.count).sum() / 60)
    cells = [f"{work:.0f} of {problem.capacity.sum() / 60:.0f}", f"{was:.0f}", f"{solved.bound:.0f}"]
    cells += [f"{now:.0f} ({(was - now) / avoidable:.0%}, {took:.2f} s)"]
    return [*cells, f"{best:.0f} ({(was - best) / avoidable:.0%}, {solver_took:.1f} s)"]


def main() -> None:
    """A row for each case."""
    print("case | hours | lived | bound | default | solver")
    for name, (trees, minutes) in CASES.items():
        problem = case(trees, minutes)
        print(" | ".join([name, *measured(problem, "--solver" in sys.argv)]), flush=True)


if __name__ == "__main__":
    np.seterr(all="raise", under="ignore")
    main()
