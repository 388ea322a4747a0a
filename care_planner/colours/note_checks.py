"""Mistakes in notes of branches and cuttings that only the whole tree shows. Pure."""

from collections.abc import Collection, Mapping
from typing import Protocol

from care_planner.collection.read_collection import COLLECTION_FILE
from care_planner.collection.tree import Tree
from care_planner.journal.model import Entry
from care_planner.problems import Problem, did_you_mean
from care_planner.rulebook.forms import Forms


class _Batch(Protocol):
    @property
    def taken(self) -> int: ...
    @property
    def count(self) -> int: ...


class Checks:
    """Collects what is wrong; each question says whether the note can be taken."""

    def __init__(self, tree: Tree, forms: Forms, south: bool) -> None:
        self.tree, self._of, self._forms, self._south = tree.id, tree, forms, south
        self.problems: list[Problem] = []

    def add(self, entry: Entry, what: str, allowed: str = "") -> bool:
        """A mistake at an entry; always False, for `return checks.add(...)`."""
        self.problems.append(Problem(entry.file, entry.line, what, allowed))
        return False

    def knows_branch(self, entry: Entry, branch: str, told: Collection[str]) -> bool:
        """Whether the tree has this branch."""
        known = branch in told
        return known or self.add(
            entry, f"unknown branch {branch!r} of {self.tree}", did_you_mean(branch, told)
        )

    def was_there(self, entry: Entry, branch: str, season: int, since: int | None, lost: int | None) -> bool:
        """Whether the branch could flower in this season."""
        if since is not None and season < since:
            what = f"flowers of {season} on branch {branch!r}, which could first flower in {since}"
            return self.add(entry, what, f"allowed: {since} or later")
        if lost is not None and season > lost:
            what = f"flowers of {season} on branch {branch!r}, which was lost in {lost}"
            return self.add(entry, what, f"allowed: {lost} or earlier")
        return True

    def is_no_older(self, entry: Entry, batch: str, taken: int, since: int | None) -> bool:
        """Whether cuttings taken in a season can be of a branch: shoots grow the summer before flowers."""
        if since is None or taken >= since - 1:
            return True
        what = f"batch {batch!r} was taken in {taken}, before its branch grew in {since - 1}"
        return self.add(entry, what, "a cutting is no older than its branch")

    def counts(self, entry: Entry, flowers: tuple[tuple[str, int], ...]) -> tuple[int, ...] | None:
        """Counts by rung; None where a form is unknown."""
        counts = [0] * len(self._forms.ladder)
        right = True
        for word, count in flowers:
            rung = self._forms.index(word)
            if rung is None:
                allowed = self._forms.allowed(word)
                right = self.add(entry, f"unknown form of flower {word!r}", allowed)
            else:
                counts[rung] += count
        return tuple(counts) if right else None

    def batch_fits(
        self, entry: Entry, batch: str, plant: int, season: int, batches: Mapping[str, _Batch]
    ) -> bool:
        """Whether there was such a batch, and such a plant in it, in this season."""
        if batch not in batches:
            return self.add(entry, f"unknown batch {batch!r} of {self.tree}", did_you_mean(batch, batches))
        known = batches[batch]
        if season < known.taken:
            what = f"batch {batch!r} is noted in {season}, before it was taken in {known.taken}"
            return self.add(entry, what, f"allowed: {known.taken} or later")
        count = (entry.branch.count or 0) if entry.branch is not None else 0
        if max(plant, count) > known.count:
            what = f"plant {plant}" if plant > known.count else f"{count} plants"
            return self.add(entry, f"{what} of batch {batch!r}, which has {known.count}",
                            f"allowed: 1 to {known.count}")  # fmt: skip
        return True

    def plant_fits(
        self, entry: Entry, batch: str, plant: int, season: int, batches: Mapping[str, _Batch]
    ) -> bool:
        """Whether such a plant could flower in this season."""
        if not self.batch_fits(entry, batch, plant, season, batches):
            return False
        if not plant:
            what = f"flowers of batch {batch!r} without the plant's number"
            return self.add(entry, what, f"needed: plant, 1 to {batches[batch].count}")
        if season == batches[batch].taken:
            what = f"flowers of batch {batch!r} in {season}, the season it was taken in"
            return self.add(entry, what, f"allowed: {season + 1} or later, on the wood grown since")
        return True

    def variety(self) -> tuple[int, ...]:
        """The rungs its variety is known for."""
        rungs = []
        for word in self._of.variety.forms if self._of.variety is not None else ():
            rung = self._forms.index(word)
            if rung is None:
                what = f"tree {self.tree}: unknown form of flower {word!r} in its variety"
                allowed = self._forms.allowed(word)
                self.problems.append(Problem(COLLECTION_FILE, 0, what, allowed))
            else:
                rungs.append(rung)
        return tuple(sorted(set(rungs)))
