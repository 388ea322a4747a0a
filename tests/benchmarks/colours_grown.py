"""Collections grown by chance for `colour_worlds.py`: how wood changes, what flowers show, what is noted."""

import math
import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from care_planner.colours.lineage import Batch, Bloom, KnownBranch, Lineage
from care_planner.colours.rates import MEDIAN_BACK, MEDIAN_DARKEN, SPREAD_BACK, SPREAD_DARKEN

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
        branches = {"trunk": KnownBranch("trunk", "", first)}
        notes: dict[int, dict[str, Counts]] = {}
        for number in range(BRANCHES):
            id = f"b{number}"
            parent = self.random.choice(["trunk", *[b for b in branches if b != "trunk"][:3]])
            rate = _shifted(tree_rate, self.random.gauss(0, self.world.branches_differ))
            since = first + 1
            start = wood[parent][max(since - 1, min(wood[parent]))]
            wood[id], rates[id] = self._line(self.year(start, rate), since, rate), rate
            branches[id] = KnownBranch(id, parent, since)
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
                if lightest(noted[id]) != lightest(noted[other]):
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


def lightest(counts: Counts) -> int:
    return next(form for form, number in enumerate(counts) if number)


def _shifted(chance: float, by: float) -> float:
    return 1 / (1 + math.exp(-math.log(chance / (1 - chance)) - by))
