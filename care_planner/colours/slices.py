"""Lines of descent cut at the seasons where something is known: a forest of nodes in arrays. Pure.

A node is a branch (or a young plant) in one season; its state is the lightest form that its wood can
give, with the branch's habit (how much of its own form it shows). A node hangs on the same branch some
seasons before and keeps its habit, or on the branch it grew from, one season of growth before its own first,
and its habit is drawn anew. Nodes stand with parents before children.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from care_planner.collection.branches import TRUNK
from care_planner.colours.flowers import Array, Readings, Whole, read_as
from care_planner.colours.lineage import Batch, Bloom, KnownBranch, Lineage

Owner = tuple[str, int]  # (branch, 0), or (batch, number of the plant; 0 for one not yet seen)
# Mean shares of its own form that a branch may show in a season's flowers. Starting values, no source.
HABITS = (0.1, 0.35, 0.65, 0.9)


@dataclass(frozen=True, eq=False)
class Level:
    """Nodes that are equally far from their root, in the order of their parents.

    `years` is the same number of seasons since every parent, or None where they differ; `above` the
    parents, each once (none at the roots), and `starts` where the nodes of each begin within the level.
    """

    span: slice
    years: int | None
    above: Whole
    starts: Whole


@dataclass(frozen=True, eq=False)
class Nodes:
    """The nodes of several trees.

    `parent` [n] is -1 at a root; `years` [n] seasons of growth since the parent (0 at a root); `begins` [n]
    whether an owner's line begins there; `tree` [n] the tree's place in `lineages`; `readings` what the notes
    say, one for each item of `noted`, in its order. Nodes are sorted by their distance from the root, then by
    parent, which makes the `levels`. `habits` [H] are the mean shares of its own form that wood may show.
    """

    lineages: tuple[Lineage, ...]
    rungs: int
    habits: tuple[float, ...]
    parent: Whole
    years: Whole
    begins: NDArray[np.bool_]
    readings: Readings
    tree: Whole
    levels: tuple[Level, ...]
    first: Mapping[tuple[int, Owner], int]  # where an owner's line begins
    now: Mapping[tuple[int, Owner], int]  # its node in the current season; only of those still there
    noted: Mapping[tuple[int, Owner, int], int]  # (tree, owner, season) with flowers -> node

    @property
    def cells(self) -> int:
        """How many numbers a message to every node holds."""
        return len(self.parent) * len(self.habits) * self.rungs

    @property
    def noted_nodes(self) -> Whole:
        """The node of each reading."""
        return np.array(list(self.noted.values()), dtype=np.int64)

    def seen(self, mistakes: float) -> Array:
        """The likelihood [n, H, K] of what was noted at each node, 1 where nothing was."""
        seen = np.ones((len(self.parent), len(self.habits), self.rungs))
        if self.noted:
            seen[self.noted_nodes] = self.readings.likelihood(mistakes)
        return seen

    @property
    def roots(self) -> slice:
        """One node a tree, in the order of the trees."""
        return self.levels[0].span


def first_seasons(lineage: Lineage, now: int) -> dict[str, int]:
    """The season in which each branch's line begins: as told, else as old as what it grows from."""
    mentioned = [now, *(branch.since for branch in lineage.branches.values() if branch.since is not None)]
    mentioned += [season for branch in lineage.branches.values() for season in branch.blooms]
    mentioned += [batch.taken for batch in lineage.batches.values()]
    begins: dict[str, int] = {}
    for id, branch in lineage.branches.items():
        above = begins.get(branch.grows_from, min(mentioned))
        begins[id] = branch.since if branch.since is not None else above
    return begins


def cut_into_nodes(
    lineages: Sequence[Lineage], rungs: int, now: int, habits: Sequence[float] = HABITS
) -> Nodes:
    """The nodes of these trees; `now` is the current season, `rungs` the length of the ladder."""
    growing = _Growing()
    for number, lineage in enumerate(lineages):
        _grow(growing, number, lineage, now)
    order, spans = _by_level(growing.parent)
    place = np.empty_like(order)
    place[order] = np.arange(len(order))
    parent = np.array(growing.parent, dtype=np.int64)[order]
    parent = np.where(parent < 0, -1, place[parent])
    years = np.array(growing.years, dtype=np.int64)[order]
    blooms = list(growing.blooms.values())
    counts = np.array([bloom.counts for bloom in blooms], dtype=np.int64).reshape(-1, rungs)
    return Nodes(
        tuple(lineages),
        rungs,
        tuple(habits),
        parent,
        years,
        np.isin(np.arange(len(parent)), place[list(growing.first.values())]),
        read_as(counts, [bloom.full_sun for bloom in blooms], habits),
        np.array(growing.tree, dtype=np.int64)[order],
        tuple(_level(span, parent[span], years[span]) for span in spans),
        {key: int(place[node]) for key, node in growing.first.items()},
        {key: int(place[node]) for key, node in growing.now.items()},
        {key: int(place[node]) for key, node in growing.noted.items()},
    )


def _by_level(parents: Sequence[int]) -> tuple[Whole, tuple[slice, ...]]:
    """The nodes in the order of their levels, each level in the order of its parents, and the levels."""
    children: dict[int, list[int]] = {}
    for node, above in enumerate(parents):
        children.setdefault(above, []).append(node)
    order: list[int] = []
    levels = []
    level = children.get(-1, [])
    while level:
        levels.append(slice(len(order), len(order) + len(level)))
        order += level
        level = [node for above in level for node in children.get(above, ())]
    return np.array(order, dtype=np.int64), tuple(levels)


def _level(span: slice, parent: Whole, years: Whole) -> Level:
    starts = np.flatnonzero(np.r_[True, parent[1:] != parent[:-1]])
    above = parent[starts] if parent[0] >= 0 else parent[:0]
    return Level(span, int(years[0]) if (years == years[0]).all() else None, above, starts)


class _Growing:
    """Nodes as they are laid down."""

    def __init__(self) -> None:
        self.parent: list[int] = []
        self.years: list[int] = []
        self.tree: list[int] = []
        self.first: dict[tuple[int, Owner], int] = {}
        self.now: dict[tuple[int, Owner], int] = {}
        self.noted: dict[tuple[int, Owner, int], int] = {}
        self.blooms: dict[tuple[int, Owner, int], Bloom] = {}

    def line(
        self, tree: int, owner: Owner, above: int, seasons: Iterable[int], blooms: Mapping[int, Bloom]
    ) -> dict[int, int]:
        """Lay down one owner's nodes; returns them by season."""
        laid: dict[int, int] = {}
        before = None
        for season in sorted(set(seasons)):
            node = len(self.parent)
            self.parent.append(above)
            self.years.append(0 if above < 0 else 1 if before is None else season - before)
            bloom = blooms.get(season)
            self.tree.append(tree)
            if bloom is not None:
                self.noted[tree, owner, season] = node
                self.blooms[tree, owner, season] = bloom
            if before is None:
                self.first[tree, owner] = node
            laid[season] = above = node
            before = season
        return laid


def _grow(growing: _Growing, number: int, lineage: Lineage, now: int) -> None:
    begins = first_seasons(lineage, now)
    asked = _seasons(lineage, begins, now)
    laid: dict[str, dict[int, int]] = {}
    for id, branch in lineage.branches.items():
        above = -1
        if id != TRUNK:
            above = laid[branch.grows_from][_before(begins[id], begins[branch.grows_from])]
        laid[id] = growing.line(number, (id, 0), above, asked[id], branch.blooms)
        if branch.lost is None:
            growing.now[number, (id, 0)] = laid[id][max(now, begins[id])]
    for batch in lineage.batches.values():
        above = laid[batch.branch][max(batch.taken, begins[batch.branch])]
        for plant in (0, *batch.blooms):
            owner, blooms = (batch.id, plant), batch.blooms.get(plant, {})
            seasons = {batch.taken + 1, max(now, batch.taken + 1), *blooms}
            growing.now[number, owner] = growing.line(number, owner, above, seasons, blooms)[max(seasons)]


def _seasons(lineage: Lineage, begins: Mapping[str, int], now: int) -> dict[str, set[int]]:
    """The seasons at which each branch needs a node."""
    asked = {
        id: {begins[id], _end(branch, begins[id], now), *branch.blooms}
        for id, branch in lineage.branches.items()
    }
    for id, branch in lineage.branches.items():
        if id != TRUNK:
            asked[branch.grows_from].add(_before(begins[id], begins[branch.grows_from]))
    for batch in lineage.batches.values():
        asked[batch.branch].add(_taken(batch, begins))
    return asked


def _end(branch: KnownBranch, begin: int, now: int) -> int:
    return max(begin, now if branch.lost is None else branch.lost)


def _before(season: int, begin: int) -> int:
    """The parent's season whose wood a branch of this first season grew from."""
    return max(season - 1, begin)


def _taken(batch: Batch, begins: Mapping[str, int]) -> int:
    return max(batch.taken, begins[batch.branch])
