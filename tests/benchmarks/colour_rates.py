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
from care_planner.colours.cuttings import verdict
from care_planner.colours.decisions import RISK, wanted_form
from care_planner.colours.lineage import Batch, Bloom, Lineage
from care_planner.colours.rates import MEDIAN_BACK, MEDIAN_DARKEN, SPREAD_BACK, SPREAD_DARKEN, learnt
from care_planner.colours.slices import cut_into_nodes
from care_planner.plan import make_plan

sys.path.insert(0, str(Path(__file__).parents[1] / "colours"))
from grown import Chance, branch, tree

RUNGS, NOW = 7, 2026
FIXED = (0.02, 0.05, 0.10)
PLANTS = 8  # in a batch
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


class Tally:
    """Decisions on young plants: right and wrong ones, and those put off."""

    def __init__(self) -> None:
        self.good = self.dark = self.lost = self.kept_dark = self.put_off = 0

    def add(self, keeps_range: bool, what: str) -> None:
        """Count one plant."""
        self.good += keeps_range
        self.dark += not keeps_range
        self.lost += keeps_range and what == "give away"
        self.kept_dark += not keeps_range and what == "keep"
        self.put_off += what == "grow on"

    def __str__(self) -> str:
        wrong = (self.lost + self.kept_dark) / (self.good + self.dark)
        put_off = self.put_off / (self.good + self.dark)
        return (
            f"wrong {wrong:6.1%}; of those that keep the range given away {self.lost / self.good:6.1%}, "
            f"of the others kept {self.kept_dark / self.dark:6.1%}; put off {put_off:6.1%}"
        )


def young_plants(
    seed: int, seasons: int
) -> tuple[list[Lineage], dict[tuple[str, str, int], int], dict[tuple[str, str, int], int]]:
    """Trees with batches seen in some seasons, each plant's true wood now, the form of its first flower."""
    grown = Chance(seed, 0.06, 0.004, RUNGS)
    trees, woods, firsts = [], {}, {}
    taken = NOW - seasons
    for number in range(8):
        lineage, wood = grown.tree(f"t{number}", 8, NOW - 6, NOW)
        batches = []
        for id in grown.random.sample([b for b in lineage.branches if b != "trunk"], 3):
            blooms: dict[int, dict[int, Bloom]] = {}
            for plant in range(1, PLANTS + 1):
                rung = wood[id][taken - (NOW - 5)]
                for season in range(taken + 1, NOW + 1):
                    rung = grown.year(rung)
                    counts = grown.flowers(rung, most=4)
                    blooms.setdefault(plant, {})[season] = Bloom(counts)
                    if season == taken + 1:
                        of = [form for form, count in enumerate(counts) for _ in range(count)]
                        firsts[lineage.tree, id, plant] = grown.random.choice(of)
                woods[lineage.tree, id, plant] = rung
            batches.append(Batch(f"c-{id}", id, taken, PLANTS, blooms=blooms))
        trees.append(tree(lineage.tree, *lineage.branches.values(), batches=batches))
    return trees, woods, firsts


def decisions(seasons: int, collections: int = 40) -> dict[str, Tally]:
    """The same plants judged by each way of deciding."""
    ways = {
        "first flower only": Tally(),
        "likelier than not": Tally(),
        f"at a risk of {RISK:.0%}": Tally(),
    }
    for seed in range(collections):
        trees, woods, firsts = young_plants(seed, seasons)
        for belief in believe(trees, RUNGS, NOW)[0]:
            form = wanted_form(belief.lineage)
            assert form is not None
            for batch in belief.lineage.batches.values():
                for plant in batch.blooms:
                    key = (belief.lineage.tree, batch.branch, plant)
                    chance = float(belief.gives((batch.id, plant))[form])
                    by = (
                        "keep" if firsts[key] <= form else "give away",
                        "keep" if chance >= 0.5 else "give away",
                        verdict(chance, RISK),
                    )
                    for tally, what in zip(ways.values(), by, strict=True):
                        tally.add(woods[key] <= form, what)
    return ways


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
