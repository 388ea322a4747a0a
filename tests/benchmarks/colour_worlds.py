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
import random
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from statistics import mean

from care_planner.colours.belief import TreeBelief, believe
from care_planner.colours.cuttings import rooting, to_take, verdict
from care_planner.colours.decisions import HARDLY, RISK, SURE, must_stay, wanted_form
from care_planner.colours.lineage import Batch, Bloom, Branch, Lineage
from care_planner.colours.rates import MEDIAN_BACK, MEDIAN_DARKEN, SPREAD_BACK, SPREAD_DARKEN
from care_planner.colours.swaps import swaps

RUNGS, NOW, SEASONS = 7, 2026, 6
TREES, BRANCHES, PLANTS = 6, 8, 6
Counts = tuple[int, ...]


@dataclass(frozen=True)
class World:
    """How wood grows and how notes are made. Rates a year are drawn anew for each collection."""

    name: str
    own: float = 2 / 3  # mean share of its own form that wood shows
    spread: float = 1.5  # sum of the Dirichlet weights of a season's shares
    shares_persist: bool = False  # drawn once for a branch's wood, not each season
    misread: float = 0.0  # chance that a flower is read one form off
    swapped: float = 0.0  # chance that a note goes to another branch of the tree
    branches_differ: float = 0.0  # spread of the logit of a branch's own rate of darkening
    trees_differ: float = 0.0
    neighbours_only: bool = False  # wood darkens by one form at a time
    most_flowers: int = 12
    missed: float = 0.0  # share of seasons not noted
    sectors: float = 0.0  # share of branches with a darker sector, of which some shoots are


WORLDS = (
    World("matched"),
    World("2 % of flowers misread", misread=0.02),
    World("2 % of tags wrong", swapped=0.02),
    World("branch rates differ", branches_differ=1.0),
    World("tree rates differ", trees_differ=1.0),
    World("neighbour rungs only", neighbours_only=True),
    World("one or two flowers a note", most_flowers=2),
    World("half the seasons missed", missed=0.5),
    World("darker sector in a quarter", sectors=0.25),
    World("shares that persist", shares_persist=True),
    World("own form one in three", own=1 / 3),
)


@dataclass
class Grown:
    """A collection, and the truth behind it: the wood of today by tree and owner; chances of darkening."""

    lineages: list[Lineage]
    wood: Mapping[tuple[str, str, int], int]
    darken: float
    rate: Mapping[tuple[str, str], float]
    back: float
    first: Mapping[tuple[str, str, int], int]
    world: World
    swapped: set[tuple[str, int, frozenset[str]]] = field(default_factory=set)  # tree, season, the two


class Grower:
    """Grows one collection."""

    def __init__(self, world: World, seed: int) -> None:
        self.world, self.random = world, random.Random(seed)
        self.darken = min(self._drawn(MEDIAN_DARKEN, SPREAD_DARKEN), 0.4)
        self.back = min(self._drawn(MEDIAN_BACK, SPREAD_BACK), 0.1)

    def _drawn(self, middle: float, spread: float) -> float:
        return _shifted(middle, self.random.gauss(0, spread))

    def year(self, rung: int, darken: float) -> int:
        """The wood a year of growth later."""
        draw = self.random.random()
        if rung + 1 < RUNGS and draw < darken:
            return rung + 1 if self.world.neighbours_only else self.random.randrange(rung + 1, RUNGS)
        if rung and 1 - draw < self.back:
            return rung - 1 if self.world.neighbours_only else self.random.randrange(rung)
        return rung

    def shares(self, rung: int) -> list[float]:
        """The shares [forms from the rung on] of a season's flowers."""
        darker = RUNGS - 1 - rung
        own = self.world.spread * self.world.own
        weights = [own, *[(self.world.spread - own) / darker] * darker] if darker else [1.0]
        drawn = [self.random.gammavariate(weight, 1.0) for weight in weights]
        return drawn if sum(drawn) > 0 else [1.0, *[0.0] * darker]

    def flowers(self, rung: int, shares: Sequence[float], sector: int | None, most: int) -> Counts:
        """A season's flowers as noted, before tags are swapped."""
        forms = self.random.choices(range(rung, RUNGS), shares, k=self.random.randint(1, most))
        if sector is not None:
            forms = [max(form, sector) if self.random.random() < 0.4 else form for form in forms]
        read = [self._read(form) for form in forms]
        return tuple(read.count(form) for form in range(RUNGS))

    def _read(self, form: int) -> int:
        if self.random.random() >= self.world.misread:
            return form
        near = [other for other in (form - 1, form + 1) if 0 <= other < RUNGS]
        return self.random.choice(near)

    def collection(self) -> Grown:
        """Trees, batches, and the truth."""
        found = Grown([], {}, self.darken, {}, self.back, {}, self.world)
        for number in range(TREES):
            self._tree(f"t{number}", found)
        return found

    def _tree(self, name: str, found: Grown) -> None:
        first = NOW - SEASONS
        tree_rate = _shifted(self.darken, self.random.gauss(0, self.world.trees_differ))
        rates = {"trunk": tree_rate}
        wood = {"trunk": self._line(self.random.randrange(RUNGS), first, tree_rate)}
        branches = {"trunk": Branch("trunk", "", first)}
        notes: dict[int, dict[str, Counts]] = {}
        for number in range(BRANCHES):
            id = f"b{number}"
            parent = self.random.choice(["trunk", *[b for b in branches if b != "trunk"][:3]])
            rate = _shifted(tree_rate, self.random.gauss(0, self.world.branches_differ))
            since = first + 1
            start = wood[parent][max(since - 1, min(wood[parent]))]
            wood[id], rates[id] = self._line(self.year(start, rate), since, rate), rate
            branches[id] = Branch(id, parent, since)
            for season, counts in self._seen(wood[id]).items():
                notes.setdefault(season, {})[id] = counts
        for season, noted in notes.items():
            found.swapped |= {(name, season, pair) for pair in self._swap(noted)}
        full = {
            id: replace(b, blooms={s: Bloom(noted[id]) for s, noted in sorted(notes.items()) if id in noted})
            for id, b in branches.items()
        }
        batches = {}
        for id in self.random.sample([b for b in branches if b != "trunk"], 2):
            batches[f"c-{id}"] = self._batch(name, id, wood[id], rates[id], found)
        for id in branches:
            found.wood[name, id, 0] = wood[id][NOW]  # type: ignore[index]
            found.rate[name, id] = rates[id]  # type: ignore[index]
        found.lineages.append(Lineage(name, full, batches))

    def _line(self, rung: int, since: int, rate: float) -> dict[int, int]:
        line = {since: rung}
        for season in range(since + 1, NOW + 1):
            line[season] = self.year(line[season - 1], rate)
        return line

    def _seen(self, line: Mapping[int, int], most: int | None = None) -> dict[int, Counts]:
        """The flowers of a line by season, where they were noted."""
        most = most or self.world.most_flowers
        kept: dict[int, list[float]] = {}
        has_sector = self.random.random() < self.world.sectors
        seen = {}
        for season, rung in line.items():
            shares = self.shares(rung)
            if self.world.shares_persist:
                shares = kept.setdefault(rung, shares)
            sector = min(rung + 2, RUNGS - 1) if has_sector else None
            if self.random.random() >= self.world.missed:
                seen[season] = self.flowers(rung, shares, sector, most)
        return seen

    def _swap(self, noted: dict[str, Counts]) -> Iterator[frozenset[str]]:
        """Exchange notes of a season between two branches; which, where that shows in the lightest form."""
        for id in list(noted):
            if len(noted) > 1 and self.random.random() < self.world.swapped / 2:
                other = self.random.choice([b for b in noted if b != id])
                if _lightest(noted[id]) != _lightest(noted[other]):
                    yield frozenset((id, other))
                noted[id], noted[other] = noted[other], noted[id]

    def _batch(self, tree: str, branch: str, line: Mapping[int, int], rate: float, found: Grown) -> Batch:
        taken = NOW - 2
        blooms = {}
        for plant in range(1, PLANTS + 1):
            begins = self.year(line[taken], rate)
            own = self._line(begins, taken + 1, rate)
            seen = self._seen(own, min(4, self.world.most_flowers)) or {
                NOW: self.flowers(own[NOW], self.shares(own[NOW]), None, 1)
            }
            blooms[plant] = {season: Bloom(counts) for season, counts in seen.items()}
            counts = seen[min(seen)]
            of = [form for form, count in enumerate(counts) for _ in range(count)]
            found.first[tree, f"c-{branch}", plant] = self.random.choice(of)  # type: ignore[index]
            found.wood[tree, f"c-{branch}", plant] = own[NOW]  # type: ignore[index]
        return Batch(f"c-{branch}", branch, taken, PLANTS, rooted=PLANTS, blooms=blooms)


def _lightest(counts: Counts) -> int:
    return next(form for form, number in enumerate(counts) if number)


def _shifted(chance: float, by: float) -> float:
    return 1 / (1 + math.exp(-math.log(chance / (1 - chance)) - by))


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
