"""Tags that look swapped: exchanging what was noted of two branches in a season explains all notes better."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from care_planner.colours.belief import TreeBelief
from care_planner.colours.lineage import Bloom, Lineage
from care_planner.colours.rates import tree_evidence
from care_planner.colours.slices import cut_into_nodes

FAR_BETTER = 30.0  # so many times likelier with the tags exchanged. Chosen by simulation
SETTINGS = 60  # the likeliest: which of two readings is the better one hardly hangs on the rest


@dataclass(frozen=True)
class Swap:
    """Two branches whose tags of a season look exchanged; so many times likelier that makes the notes."""

    season: int
    branches: tuple[str, str]
    times: float


def swaps(belief: TreeBelief, rungs: int, now: int) -> tuple[Swap, ...]:
    """The pairs that look swapped, a branch at most once a season; only where a note is doubtful."""
    pairs = sorted(_pairs(belief))
    if not pairs:
        return ()
    rates = belief.rates
    kept = np.sort(np.argsort(-rates.weight, kind="stable")[:SETTINGS])
    rates = rates.part(kept, rates.weight[kept] / rates.weight[kept].sum())
    lineage = belief.lineage
    trees = [lineage, *(exchanged(lineage, season, *branches) for season, branches in pairs)]
    log = tree_evidence(cut_into_nodes(trees, rungs, now, rates.habits), rates)
    times = rates.weight @ np.exp(log[:, 1:] - log[:, :1])
    found = [Swap(*pair, float(t)) for pair, t in zip(pairs, times, strict=True) if t >= FAR_BETTER]
    return tuple(sorted(_each_once(found), key=lambda swap: (swap.season, swap.branches)))


def _pairs(belief: TreeBelief) -> set[tuple[int, tuple[str, str]]]:
    """A branch with a doubtful note, and each other one with another note of the same season."""
    branches = belief.lineage.branches
    found = set()
    for doubt in belief.doubts:
        id, plant = doubt.owner
        if plant or id not in branches:
            continue
        for other, branch in branches.items():
            bloom = branch.blooms.get(doubt.season)
            if other != id and bloom is not None and bloom != branches[id].blooms[doubt.season]:
                found.add((doubt.season, (min(id, other), max(id, other))))
    return found


def exchanged(lineage: Lineage, season: int, one: str, two: str) -> Lineage:
    """The lineage with two branches' notes of a season exchanged."""
    branches = dict(lineage.branches)
    for id, other in ((one, two), (two, one)):
        blooms: Mapping[int, Bloom] = {**branches[id].blooms, season: lineage.branches[other].blooms[season]}
        branches[id] = replace(branches[id], blooms=blooms)
    return replace(lineage, branches=branches)


def _each_once(found: list[Swap]) -> Iterator[Swap]:
    """The best pairs first, no branch in two of one season."""
    taken: set[tuple[int, str]] = set()
    for swap in sorted(found, key=lambda swap: (-swap.times, swap.season, swap.branches)):
        mine = {(swap.season, id) for id in swap.branches}
        if not mine & taken:
            taken |= mine
            yield swap
