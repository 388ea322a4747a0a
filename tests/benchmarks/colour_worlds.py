"""The colour ledger in worlds that are, and are not, as it believes: how often what it says is true.

Run from the project's root: python tests/benchmarks/colour_worlds.py [COLLECTIONS [WORLD ...]]

COLLECTIONS (30) of six trees with eight branches, noted in six seasons, and batches of cuttings, in each
world: the matched one, and such as differ in one thing each. In percent, for each: how often the 80 %
interval of the rate of darkening holds the truth; of branches said to be sure of a form, and hardly to give
one, how many are; of the branches that alone truly hold a tree's lightest form how many must stay, and how
many of those that must stay were needless; how often the cuttings advised keep the form (the promise is nine
in ten), and of how many trees any were advised; young plants wrongly kept and given away, beside "first
flower only" and "lightest seen"; notes called doubtful; swaps told that were, and swaps that were told. All
trees are grown by chance: nothing here tells how real wood behaves.
"""

import math
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from statistics import mean

from colours_grown import NOW, RUNGS, WORLDS, Grower, Grown, World

from care_planner.colours.belief import TreeBelief, believe
from care_planner.colours.cuttings import rooting, to_take, verdict
from care_planner.colours.decisions import HARDLY, RISK, SURE, must_stay, wanted_form
from care_planner.colours.lineage import Lineage
from care_planner.colours.swaps import swaps


@dataclass
class Tally:
    """How many of how many, by what is counted."""

    counts: dict[str, list[float]] = field(default_factory=dict)

    def add(self, what: str, true: float) -> None:
        """Count one (or a chance of one)."""
        part = self.counts.setdefault(what, [0.0, 0])
        part[0] += float(true)
        part[1] += 1

    def share(self, what: str) -> float:
        """The share of `what` that was true; nan where nothing was counted."""
        true, of = self.counts.get(what, (0.0, 0))
        return true / of if of else math.nan

    def of(self, what: str) -> int:
        """How many were counted."""
        return int(self.counts.get(what, (0, 0))[1])


def judge(grown: Grown, tally: Tally) -> None:
    """Hold what is said of a collection against its truth."""
    beliefs, rates = believe(grown.lineages, RUNGS, NOW)
    # Where branches or trees differ there is no one rate: then the mean of those there are.
    world = grown.world
    truth = grown.darken if not world.branches_differ + world.trees_differ else mean(grown.rate.values())
    tally.add("interval", rates.quantile("darken", 0.1) <= truth <= rates.quantile("darken", 0.9))
    roots = rooting(grown.lineages)
    for belief in beliefs:
        _judge_doubts(belief, grown, tally)
        _judge_branches(belief, grown, tally)
        _judge_stay(belief, grown, tally)
        _judge_cuttings(belief, grown, tally, roots)
        _judge_plants(belief, grown, tally)


def _judge_doubts(belief: TreeBelief, grown: Grown, tally: Tally) -> None:
    """Tags said to be swapped that were, tags swapped that are said to be, and notes called doubtful."""
    tree = belief.lineage.tree
    said = {(tree, swap.season, frozenset(swap.branches)) for swap in swaps(belief, RUNGS, NOW)}
    true = {one for one in grown.swapped if one[0] == tree}
    for one in said:
        tally.add("swaps true", one in true)
    for one in true:
        tally.add("swaps found", one in said)
    doubted = {(doubt.owner, doubt.season) for doubt in belief.doubts}
    for owner, season, _ in belief.lineage.noted():
        tally.add("doubtful", (owner, season) in doubted)


def _judge_branches(belief: TreeBelief, grown: Grown, tally: Tally) -> None:
    tree = belief.lineage.tree
    for id, branch in belief.lineage.branches.items():
        if id == "trunk" or not branch.blooms:
            continue
        gives, wood = belief.gives((id, 0)), grown.wood[tree, id, 0]
        sure = [form for form in range(RUNGS - 1) if gives[form] >= SURE]
        if sure:
            tally.add("sure", wood <= sure[0])
        hardly = [form for form in range(RUNGS - 1) if gives[form] < HARDLY]
        if hardly:
            tally.add("hardly", wood > hardly[-1])
        lightest = min(f for b in branch.blooms.values() for f, count in enumerate(b.counts) if count)
        if lightest < RUNGS - 1:
            tally.add("lightest seen", wood <= lightest)


def _judge_stay(belief: TreeBelief, grown: Grown, tally: Tally) -> None:
    kept = {keep.branches[0] for keep in must_stay(belief) if len(keep.branches) == 1}
    needed = truly_needed(belief.lineage, grown)
    for id in needed:
        tally.add("must stay", id in kept)
    for id in kept:
        tally.add("needless", id not in needed)


def truly_needed(lineage: Lineage, grown: Grown) -> set[str]:
    """Branches without which, and what grows on them, the tree's lightest form is gone."""
    woods = {
        id: grown.wood[lineage.tree, id, 0]
        for id, b in lineage.branches.items()
        if id != "trunk" and b.blooms
    }
    if not woods or min(woods.values()) == RUNGS - 1:
        return set()
    carriers = {id for id, rung in woods.items() if rung == min(woods.values())}
    return {id for id in lineage.branches if id != "trunk" and carriers <= below(lineage, id)}


def below(lineage: Lineage, id: str) -> set[str]:
    """A branch and all that grows on it."""
    found = {id}
    for branch in lineage.branches.values():  # parents come first
        if branch.grows_from in found:
            found.add(branch.id)
    return found


def _judge_cuttings(belief: TreeBelief, grown: Grown, tally: Tally, roots: object) -> None:
    for take in to_take(belief, 1, roots, most=1):  # type: ignore[arg-type]
        if take.form == RUNGS - 1:
            continue  # any cutting keeps the darkest
        if take.count is None:
            tally.add("advised", 0)
            continue
        tally.add("advised", 1)
        rung = grown.wood[belief.lineage.tree, take.branch, 0]
        darken = grown.rate[belief.lineage.tree, take.branch]
        one = _keeps(rung, take.form, darken, grown)
        root = float(roots[:, 0] @ roots[:, 1])  # type: ignore[index]
        tally.add("promise", 1 - (1 - one * root) ** take.count)


def _keeps(rung: int, form: int, darken: float, grown: Grown) -> float:
    """The true chance that a cutting can give a form after a year of growth."""
    if rung > form:
        return grown.back * (form + 1) / rung if not grown.world.neighbours_only or rung == form + 1 else 0.0
    if grown.world.neighbours_only:
        return 1 - darken if rung == form else 1.0
    return 1 - darken * (RUNGS - 1 - form) / (RUNGS - 1 - rung)


def _judge_plants(belief: TreeBelief, grown: Grown, tally: Tally) -> None:
    form = wanted_form(belief)
    if form is None:
        return
    for batch in belief.lineage.batches.values():
        for plant, seasons in batch.blooms.items():
            key = (belief.lineage.tree, batch.id, plant)
            good = grown.wood[key] <= form
            what = verdict(float(belief.gives((batch.id, plant))[form]), RISK)
            lightest = min(f for b in seasons.values() for f, count in enumerate(b.counts) if count)
            ways = {
                "": what,
                "first ": "keep" if grown.first[key] <= form else "give away",
                "lightest ": "keep" if lightest <= form else "give away",
            }
            for way, said in ways.items():
                if good:
                    tally.add(f"{way}lost", said == "give away")
                else:
                    tally.add(f"{way}kept", said == "keep")
            tally.add("put off", what == "grow on")


HEAD = (
    f"{'world':27}{'80 %':>6}{'sure':>7}{'hardly':>8}{'stay':>6}{'need-':>7}{'prom-':>7}{'ad-':>6}"
    f"{'kept':>7}{'first':>7}{'light':>7}{'given':>7}{'first':>7}{'light':>7}"
    f"{'doubt-':>7}{'swaps':>7}{'swaps':>7}\n"
    f"{'':27}{'holds':>6}{'true':>7}{'true':>8}{'':>6}{'less':>7}{'ise':>7}{'vised':>6}"
    f"{'wrong':>7}{'only':>7}{'seen':>7}{'wrong':>7}{'only':>7}{'seen':>7}"
    f"{'ful':>7}{'true':>7}{'found':>7}"
)
COLUMNS = (
    ("interval", 6), ("sure", 7), ("hardly", 8), ("must stay", 6), ("needless", 7), ("promise", 7),
    ("advised", 6), ("kept", 7), ("first kept", 7), ("lightest kept", 7), ("lost", 7), ("first lost", 7),
    ("lightest lost", 7), ("doubtful", 7), ("swaps true", 7), ("swaps found", 7),
)  # fmt: skip


def line(world: World, tally: Tally) -> str:
    """One world's row, in percent."""
    return f"{world.name:27}" + "".join(f"{100 * tally.share(what):{width}.1f}" for what, width in COLUMNS)


def measured(world: World, collections: int, first: int = 0) -> Tally:
    """What is true in so many collections of a world."""
    tally = Tally()
    for seed in range(first, first + collections):
        judge(Grower(world, seed).collection(), tally)
    return tally


def chosen(names: Sequence[str]) -> Iterator[World]:
    """The worlds whose names hold one of these, all where none is given."""
    yield from (world for world in WORLDS if not names or any(name in world.name for name in names))


def main() -> None:
    """Measure and print."""
    collections = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    print(HEAD)
    for world in chosen(sys.argv[2:]):
        start = time.perf_counter()
        tally = measured(world, collections)
        print(f"{line(world, tally)}  {(time.perf_counter() - start) / collections:.1f} s", flush=True)


if __name__ == "__main__":
    main()
