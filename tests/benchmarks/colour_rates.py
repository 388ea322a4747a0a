"""Colours measured: what is learnt of the rates, how good the decisions are, what it costs.

Run from the project's root: python tests/benchmarks/colour_rates.py [RUNS]

a. How often the 80 % interval of the learnt rate of darkening holds the true one, in RUNS (500) collections
   whose truth is drawn from the starting belief, and in as many at each of some fixed truths.
b. Decisions on young plants, against "decide by the first flower only".
c. 500 trees of 40 branches, noted in 10 seasons, against planning 500 trees.

Trees are grown by chance as the model says, so nothing here tells whether real wood behaves so.
"""

import math
import platform
import random
import sys
import time
from datetime import date
from pathlib import Path

from plan_cost import EXAMPLE, collection, rulebook

from care_planner.climate.read_weather import read_weather_file
from care_planner.colours.belief import believe
from care_planner.colours.lineage import Lineage
from care_planner.colours.rates import MEDIAN_BACK, MEDIAN_DARKEN, SPREAD_BACK, SPREAD_DARKEN, learnt
from care_planner.colours.slices import cut_into_nodes
from care_planner.plan import make_plan

sys.path.insert(0, str(Path(__file__).parents[1] / "colours"))
from grown import Chance, branch, tree
from young import decisions

RUNGS, NOW = 7, 2026
FIXED = (0.02, 0.05, 0.10)
COST_TREES, COST_BRANCHES, COST_SEASONS = 500, 40, 10


def drawn(chance: random.Random, middle: float, spread: float) -> float:
    """A rate drawn from its starting belief."""
    return 1 / (1 + math.exp(-chance.gauss(math.log(middle / (1 - middle)), spread)))


def coverage(runs: int, fixed: float | None) -> tuple[int, float]:
    """How many of the runs' 80 % intervals hold the truth, and the seconds a run."""
    held = 0
    start = time.perf_counter()
    for seed in range(runs):
        chance = random.Random(seed)
        darken = min(fixed or drawn(chance, MEDIAN_DARKEN, SPREAD_DARKEN), 0.6)
        grown = Chance(seed, darken, min(drawn(chance, MEDIAN_BACK, SPREAD_BACK), 0.2), RUNGS)
        trees = [grown.tree(f"t{i}", 8, NOW - 6, NOW)[0] for i in range(6)]
        rates = learnt([cut_into_nodes(trees, RUNGS, NOW)])
        held += rates.quantile("darken", 0.1) <= darken <= rates.quantile("darken", 0.9)
    return held, (time.perf_counter() - start) / runs


def full_tree(name: str, seed: int) -> Lineage:
    """A tree of many branches, every one noted in every season."""
    grown = Chance(seed, 0.06, 0.004, RUNGS)
    first = NOW - COST_SEASONS
    lineage, _ = grown.tree(name, COST_BRANCHES, first, NOW)
    return tree(name, branch("trunk", first), *(b for b in lineage.branches.values() if b.id != "trunk"))


def cost() -> None:
    """Print (c)."""
    trees = [full_tree(f"t{i:03}", i) for i in range(COST_TREES)]
    start = time.perf_counter()
    believe(trees, RUNGS, NOW)
    ours = time.perf_counter() - start
    record, _ = read_weather_file(EXAMPLE / "weather.csv.gz", "weather.csv.gz")
    assert record is not None
    whole = collection(distinct=True)
    satsuki = [one.model_copy(update={"taxon": "satsuki-azalea"}) for one in whole.trees[:COST_TREES]]
    rules = rulebook()
    start = time.perf_counter()
    make_plan(
        whole.model_copy(update={"trees": tuple(satsuki)}), (), record, rules, date(2027, 3, 1).toordinal()
    )
    theirs = time.perf_counter() - start
    trees_of = f"{COST_TREES} trees of {COST_BRANCHES} branches noted in {COST_SEASONS} seasons"
    print(f"c. colours of {trees_of} {ours:.1f} s, planning {COST_TREES} trees that differ {theirs:.1f} s,")
    print(f"   ratio {ours / theirs:.2f}  (at most 1)")


def main() -> None:
    """Measure and print."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    print(f"Python {platform.python_version()}, {platform.machine()}")
    for fixed in (None, *FIXED):
        held, seconds = coverage(runs, fixed)
        truth = "drawn from the starting belief" if fixed is None else f"{fixed:.0%} a year"
        print(
            f"a. truth {truth}: {held / runs:.1%} of {runs} intervals hold it (75 to 85 %), "
            f"{seconds * 1000:.0f} ms a run"
        )
    for seasons in (1, 2, 3):
        for way, tally in decisions(seasons).items():
            print(f"b. {seasons} season{'s' * (seasons > 1)} of flowers, {way:<18}: {tally}")
    cost()


if __name__ == "__main__":
    main()
