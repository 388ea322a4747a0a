"""What the notes say of each branch now: the forms its wood can still give, and what a cut would lose.

Pure. "Chance" is always over both what is not known: the wood, and the rates of change.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from care_planner.collection.branches import TRUNK
from care_planner.colours.flowers import Array
from care_planner.colours.lineage import Lineage
from care_planner.colours.passing import Upward, log_evidence, pass_down, pass_up
from care_planner.colours.rates import Rates, in_parts, learnt
from care_planner.colours.slices import Nodes, Owner, Whole, cut_into_nodes

PART = 10_000  # nodes worked on at a time
KEPT_AT_HAND = 3_900_000  # numbers: 31 MB
# A form seen where its chance was less than this before is unusual. Starting value, no source.
UNUSUAL = 0.05
NEXT_TO_NOTHING = 1e-30  # stands for "cannot", so that messages can be divided


@dataclass(frozen=True)
class Unusual:
    """A form lighter than all else that is known of the branch would let one think."""

    owner: Owner
    season: int
    form: int
    chance: float  # that the wood could give it, by all other notes


@dataclass(frozen=True, eq=False)
class TreeBelief:
    """What is believed of one tree in the current season.

    `wood` [G, K] by branch or young plant: the chance that this pair of rates holds and that form K is the
    lightest its wood can give. `loss` [K] by branch: the chance that the tree can give the form now and
    cannot once the branch is cut, counting on branches that have been seen in flower only. `can_give`
    [K]: the chance that a branch which has been seen in flower can give the form.
    """

    lineage: Lineage
    rates: Rates
    wood: Mapping[Owner, Array]
    loss: Mapping[str, Array]
    can_give: Array
    unusual: tuple[Unusual, ...]

    def lightest(self, owner: Owner) -> Array:
        """Chance [K] that each form is the lightest the wood can give."""
        sums: Array = self.wood[owner].sum(axis=0)
        return sums

    def gives(self, owner: Owner) -> Array:
        """Chance [K] that the wood can give each form."""
        return np.minimum(np.cumsum(self.lightest(owner)), 1.0)


def believe(
    lineages: Sequence[Lineage], rungs: int, now: int, rates: Rates | None = None
) -> tuple[list[TreeBelief], Rates]:
    """The belief about each tree, in the order of the trees' names, and about the rates.

    Trees share nothing but the rates, which are learnt from all of them unless given. `now` is the current
    season, `rungs` the number of forms.
    """
    # Freed at once and never touched: from then on the C library keeps freed memory of up to this size at
    # hand instead of giving every array of messages back, which costs a third of the time.
    np.empty(KEPT_AT_HAND)
    parts = [cut_into_nodes(part, rungs, now) for part in _in_parts(lineages)]
    found = learnt(parts) if rates is None else rates
    averaged = found.coarser() if rates is None else rates
    return [belief for nodes in parts for belief in _beliefs(nodes, averaged)], found


def _in_parts(lineages: Sequence[Lineage]) -> Iterator[list[Lineage]]:
    """Trees by name, so many together as keep the arrays small."""
    part: list[Lineage] = []
    size = 0
    for lineage in sorted(lineages, key=lambda lineage: lineage.tree):
        blooms = sum(2 + len(branch.blooms) for branch in lineage.branches.values())
        if part and size + blooms > PART:
            yield part
            part, size = [], 0
        part.append(lineage)
        size += blooms
    if part:
        yield part


def _beliefs(nodes: Nodes, rates: Rates) -> Iterator[TreeBelief]:
    asked = _asked(nodes)
    pieces = [
        _piece(nodes, steps, rates.weight[part], asked)
        for part, steps in in_parts(nodes, rates.darken, rates.back)
    ]
    wood = np.concatenate([piece.wood for piece in pieces])
    loss = np.sum([piece.loss for piece in pieces], axis=0)
    can_give = np.sum([piece.can_give for piece in pieces], axis=0)
    unusual = _unusual(nodes, np.sum([piece.others for piece in pieces], axis=0))
    mine: list[dict[Owner, Array]] = [{} for _ in nodes.lineages]
    for place, (tree, owner) in enumerate(nodes.now):
        mine[tree][owner] = wood[:, place]
    for number, lineage in enumerate(nodes.lineages):
        branches = [id for id in lineage.branches if (id, 0) in mine[number] and id != TRUNK]
        yield TreeBelief(
            lineage,
            rates,
            mine[number],
            {id: loss[:, nodes.first[number, (id, 0)]] for id in branches},
            can_give[:, number],
            tuple(unusual[number]),
        )


@dataclass(frozen=True, eq=False)
class _Asked:
    """Nodes of which something is asked: those of today, as in `Nodes.now`; those of today that were seen in
    flower, on branches; and [n] those that begin a branch or lie between its beginning and the root."""

    now: Whole
    proven: Whole
    beginnings: NDArray[np.bool_]


def _asked(nodes: Nodes) -> _Asked:
    seen = {(tree, owner) for tree, owner, _ in nodes.noted}
    proven = sorted(
        node
        for (tree, owner), node in nodes.now.items()
        if (tree, owner) in seen and owner[0] in nodes.lineages[tree].branches
    )
    beginnings = np.zeros(len(nodes.parent), dtype=bool)
    beginnings[list(nodes.first.values())] = True
    for level in reversed(nodes.levels[1:]):
        beginnings[nodes.parent[level.span][beginnings[level.span]]] = True
    now = np.array(list(nodes.now.values()), dtype=np.int64)
    return _Asked(now, np.array(proven, dtype=np.int64), beginnings)


@dataclass(frozen=True, eq=False)
class _Piece:
    """What some pairs of rates say, weighted. All but `wood` [G, nodes of today, K] are sums over them."""

    wood: Array
    loss: Array  # [K, n]
    can_give: Array  # [K, trees]
    others: Array  # [n, K], what all others say of a node, not divided by its sum


def _piece(nodes: Nodes, steps: Mapping[int, Array], weight: Array, asked: _Asked) -> _Piece:
    upward = pass_up(nodes, steps, nodes.seen)
    downward = pass_down(nodes, steps, upward)
    wood = downward.down[:, asked.now] * upward.up[:, asked.now]
    wood *= (weight[:, None] / wood.sum(axis=2))[..., None]
    loss, can_give = _losses(nodes, steps, upward, weight, asked)
    # All that others say, the rates weighted as they would be without the node's own flowers.
    rest = downward.down * upward.beyond
    own = np.einsum("gnk,nk->gn", rest, nodes.seen)
    others = np.einsum("gn,gnk->nk", weight[:, None] / own, rest)
    return _Piece(wood, loss, can_give, others)


def _losses(
    nodes: Nodes, steps: Mapping[int, Array], upward: Upward, weight: Array, asked: _Asked
) -> tuple[Array, Array]:
    """By form: the chance that cutting at a node loses it [K, n], and that a tree can give it [K, trees]."""
    rungs = nodes.seen.shape[1]
    begin = np.flatnonzero(asked.beginnings)
    evidence = log_evidence(nodes, upward)
    loss = np.zeros((rungs, len(nodes.parent)))
    can_give = np.zeros((rungs, len(nodes.lineages)))
    can_give[-1, np.unique(nodes.tree[asked.proven])] = weight.sum()  # any wood can give the darkest form
    for form in range(rungs - 1):
        # "None of those seen in flower can give it": their wood is darker.
        seen = nodes.seen.copy()
        seen[asked.proven, : form + 1] *= NEXT_TO_NOTHING
        none_up = pass_up(nodes, steps, seen)
        none_down = pass_down(nodes, steps, none_up, asked.beginnings)
        none = np.exp(log_evidence(nodes, none_up) - evidence)
        # The rest of the tree cannot, whatever the branch itself can.
        rest = np.log(np.einsum("gnk,gnk->gn", none_down.down[:, begin], upward.up[:, begin]))
        rest += none_down.log[:, begin] + upward.log[:, begin]
        outside = np.exp(rest - evidence[:, nodes.tree[begin]])
        loss[form, begin] = np.maximum(weight @ (outside - none[:, nodes.tree[begin]]), 0.0)
        can_give[form] = weight @ (1 - none)
    return loss, can_give


def _unusual(nodes: Nodes, others: Array) -> list[list[Unusual]]:
    """The unusual flowers of each tree; `others` [n, K] is what all others say of a node's wood."""
    found: list[list[Unusual]] = [[] for _ in nodes.lineages]
    if not nodes.noted:
        return found
    node = np.array(list(nodes.noted.values()))
    possible = nodes.seen[node] > 0
    chance = (others[node] * possible).sum(axis=1) / others[node].sum(axis=1)
    form = possible.sum(axis=1) - 1  # the lightest form seen is the darkest wood possible
    for (tree, owner, season), c, f in zip(nodes.noted, chance.tolist(), form.tolist(), strict=True):
        if c < UNUSUAL:
            found[tree].append(Unusual(owner, season, f, c))
    return [sorted(one, key=lambda unusual: (unusual.owner, unusual.season)) for one in found]
