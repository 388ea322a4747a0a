"""What a tree's ledger says, as facts that a table, a page or a sheet can be made of. Pure.

Forms are rungs of the taxon's ladder (0 the lightest), seasons are years, chances 0 to 1.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from care_planner.collection.branches import TRUNK
from care_planner.colours.belief import Doubt, TreeBelief
from care_planner.colours.cuttings import Advice, Take, advise, to_look_at, to_take, unproven
from care_planner.colours.decisions import (
    HARDLY,
    LIKELY,
    RISK,
    SURE,
    Keep,
    Worth,
    against_display,
    branches_there,
    must_stay,
    to_tag,
    worth,
)
from care_planner.colours.flowers import Array
from care_planner.colours.lineage import Batch, KnownBranch
from care_planner.colours.slices import Owner
from care_planner.colours.swaps import Swap, swaps

Level = Literal["sure", "likely", "perhaps", "hardly"]


@dataclass(frozen=True)
class Seen:
    """What was noted in one season: counts by form, lightest first, and how far it is to be trusted."""

    season: int
    counts: tuple[int, ...]
    in_full_sun: bool
    doubt: Doubt | None


@dataclass(frozen=True)
class LedgerRow:
    """One branch, with all that was seen on it, what it can still give and what to do.

    `depth` is how many branches lie between it and the trunk; `gives` [K] the chance that it can give each
    form; `keep` says that it must stay, alone or as one of several; `take` that it is the best to take
    cuttings of; `misplaced` is True for too dark, False for too light, None for well placed or not placed.
    """

    id: str
    depth: int
    branch: KnownBranch
    seen: tuple[Seen, ...]
    gives: tuple[float, ...]
    keep: Keep | None
    take: Take | None
    swaps: tuple[Swap, ...]
    misplaced: bool | None
    to_look_at: bool  # this season, since it was not yet noted

    @property
    def is_there(self) -> bool:
        """Whether it was neither cut nor dead by the last note."""
        return self.branch.lost is None

    @property
    def flowers(self) -> int:
        """All flowers noted on it."""
        return sum(sum(one.counts) for one in self.seen)

    @property
    def is_doubtful(self) -> bool:
        """Whether a note of it is doubtful, or looks swapped with another's."""
        return bool(self.swaps) or any(one.doubt for one in self.seen)


@dataclass(frozen=True)
class BatchRow:
    """One batch of cuttings: what to do with its plants, and how many have not been seen in flower."""

    batch: Batch
    advice: tuple[Advice, ...]
    unseen: int
    to_look_at: bool  # this season
    doubts: tuple[Doubt, ...]


@dataclass(frozen=True)
class TreeLedger:
    """One tree's table. `lightest` is the lightest form a branch seen in flower is likely to give, with its
    chance; `doubted_form` a lighter one that was noted but is not likely, None where there is none."""

    tree: str
    taxon: str
    season: int
    branches: tuple[LedgerRow, ...]
    batches: tuple[BatchRow, ...]
    keeps: tuple[Keep, ...]
    takes: tuple[Take, ...]
    swaps: tuple[Swap, ...]
    to_tag: tuple[str, ...]  # this season, the least known first
    lightest: tuple[int, float] | None
    doubted_form: int | None
    worth: Worth | None

    @property
    def doubts(self) -> tuple[Doubt, ...]:
        """Every doubtful note of its branches and young plants."""
        of_branches = (one.doubt for row in self.branches for one in row.seen if one.doubt)
        return (*of_branches, *(doubt for row in self.batches for doubt in row.doubts))

    @property
    def to_give_away(self) -> tuple[Advice, ...]:
        """Young plants to give away."""
        return tuple(one for row in self.batches for one in row.advice if one.what == "give away")

    def is_doubtful(self, branch: str) -> bool:
        """Whether a note of this branch is doubtful."""
        return any(row.id == branch and row.is_doubtful for row in self.branches)


def level(chance: float) -> Level:
    """The word for a chance."""
    if chance >= SURE:
        return "sure"
    return "likely" if chance >= LIKELY else "perhaps" if chance >= HARDLY else "hardly"


def tree_ledger(
    belief: TreeBelief, taxon: str, season: int, roots: Array, wanted: int = 1, risk: float = RISK
) -> TreeLedger:
    """The facts of one tree in a season; `roots` as of `cuttings.rooting`, `wanted` plants of cuttings."""
    lineage = belief.lineage
    swapped = swaps(belief, len(belief.can_give), season)
    keeps, takes = tuple(must_stay(belief, risk)), tuple(to_take(belief, wanted, roots, risk))
    tags = tuple(branch.id for branch in to_tag(belief, season))
    doubts = {(doubt.owner, doubt.season): doubt for doubt in belief.doubts}
    misplaced = {branch.id: too_dark for branch, too_dark in against_display(belief)}
    rows = []
    for id, depth in _as_they_grow(lineage.branches):
        branch = lineage.branches[id]
        rows.append(
            LedgerRow(
                id, depth, branch, tuple(_seen(branch, doubts)), _gives(belief, (id, 0)),
                _keep_of(id, keeps), next((take for take in takes[:1] if take.branch == id), None),
                tuple(swap for swap in swapped if id in swap.branches), misplaced.get(id), id in tags,
            )
        )  # fmt: skip
    lightest, doubted = _lightest(belief)
    return TreeLedger(
        lineage.tree, taxon, season, tuple(rows), tuple(_batches(belief, season, risk)), keeps, takes,
        swapped, tags, lightest, doubted, worth(belief),
    )  # fmt: skip


def _as_they_grow(branches: Mapping[str, KnownBranch]) -> Iterator[tuple[str, int]]:
    """Each branch behind what it grows from, with its depth; the trunk only where it says anything."""
    children: dict[str, list[str]] = {}
    for id, branch in branches.items():
        children.setdefault(branch.grows_from, []).append(id)
    waiting = [(id, 0) for id in reversed(children.get("", []))]
    while waiting:
        id, depth = waiting.pop()
        if id != TRUNK or branches[id].blooms or len(branches) == 1:
            yield id, depth
        below = depth + (id != TRUNK)
        waiting += [(child, below) for child in reversed(children.get(id, []))]


def _seen(branch: KnownBranch, doubts: Mapping[tuple[Owner, int], Doubt]) -> Iterator[Seen]:
    for season, bloom in sorted(branch.blooms.items()):
        yield Seen(season, bloom.counts, bloom.full_sun, doubts.get(((branch.id, 0), season)))


def _gives(belief: TreeBelief, owner: Owner) -> tuple[float, ...]:
    """Empty for what is no longer there."""
    return tuple(belief.gives(owner).tolist()) if owner in belief.wood else ()


def _keep_of(id: str, keeps: Sequence[Keep]) -> Keep | None:
    """What says that a branch must stay: alone before as one of several."""
    mine = [keep for keep in keeps if id in keep.branches]
    return min(mine, key=lambda keep: len(keep.branches), default=None)


def _lightest(belief: TreeBelief) -> tuple[tuple[int, float] | None, int | None]:
    likely = np.flatnonzero(belief.can_give >= LIKELY)
    if not len(likely):
        return None, None
    form = int(likely[0])
    there = {branch.id for branch in branches_there(belief.lineage)}
    lighter = [d.form for d in belief.doubts if d.is_lighter and d.form < form and d.owner[0] in there]
    return (form, float(belief.can_give[form])), min(lighter, default=None)


def _batches(belief: TreeBelief, season: int, risk: float) -> Iterator[BatchRow]:
    looked_at = {batch.id for batch in to_look_at(belief.lineage, season)}
    advice = advise(belief, risk)
    for batch in belief.lineage.batches.values():
        yield BatchRow(
            batch,
            tuple(one for one in advice if one.batch == batch.id),
            unproven(batch),
            batch.id in looked_at,
            tuple(doubt for doubt in belief.doubts if doubt.owner[0] == batch.id),
        )


@dataclass(frozen=True)
class Totals:
    """What all trees together ask for."""

    trees: int
    branches: int
    must_stay: int
    doubts: int
    to_look_at: int
    to_give_away: int


def totals(ledgers: Iterable[TreeLedger]) -> Totals:
    """One line for all trees."""
    held = list(ledgers)
    return Totals(
        len(held),
        sum(row.is_there for one in held for row in one.branches),
        sum(len(keep.branches) == 1 for one in held for keep in one.keeps),
        sum(len(one.doubts) for one in held),
        sum(len(one.to_tag) for one in held),
        sum(len(one.to_give_away) for one in held),
    )
