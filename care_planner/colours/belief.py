"""What the notes say of each branch now: the forms its wood can still give, and what a cut would lose.

Pure. "Chance" is always over all that is not known: the wood, how wood behaves, and which notes are wrong.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from care_planner.collection.branches import TRUNK
from care_planner.colours.flowers import Array, Whole
from care_planner.colours.lineage import Lineage, tagged
from care_planner.colours.passing import Setting, Upward, log_evidence, pass_down, pass_up
from care_planner.colours.rates import Rates, in_parts, learnt, starting, tree_evidence
from care_planner.colours.slices import Nodes, Owner, cut_into_nodes

PART = 10_000  # nodes worked on at a time
LEARN_FROM = 1_000  # notes: more teach nothing that is shown, and cost time
DOUBTFUL = 0.3  # a note more likely wrong than this is doubtful. Chosen by simulation
NEXT_TO_NOTHING = 1e-30  # stands for "cannot", so that messages can be divided


@dataclass(frozen=True)
class Doubt:
    """A note that fits badly: lighter than all else would let one think, or darker."""

    owner: Owner
    season: int
    form: int  # the lightest noted
    chance: float  # that the note is wrong
    is_lighter: bool


@dataclass(frozen=True, eq=False)
class TreeBelief:
    """What is believed of one tree in the current season.

    `wood` [G, K] by branch or young plant: the chance that this setting holds and that form K is the
    lightest its wood can give. `loss` [K] by branch: the chance that the tree can give the form now and
    cannot once the branch is cut, counting on branches that have been seen in flower only. `can_give`
    [K]: the chance that a branch which has been seen in flower can give the form.
    """

    lineage: Lineage
    rates: Rates
    wood: Mapping[Owner, Array]
    loss: Mapping[str, Array]
    can_give: Array
    doubts: tuple[Doubt, ...]

    def lightest(self, owner: Owner) -> Array:
        """Chance [K] that each form is the lightest the wood can give."""
        sums: Array = self.wood[owner].sum(axis=0)
        return sums

    def gives(self, owner: Owner) -> Array:
        """Chance [K] that the wood can give each form."""
        return np.minimum(np.cumsum(self.lightest(owner)), 1.0)


def believe(
    lineages: Sequence[Lineage],
    rungs: int,
    now: int,
    rates: Rates | None = None,
    only: Collection[str] | None = None,
) -> tuple[list[TreeBelief], Rates]:
    """The belief about each tree, in the order of the trees' names, and about how wood behaves.

    Trees share nothing but the rates, which are learnt unless given: from as many of the trees, by name, as
    hold enough notes; what a further tree says of them counts for that tree alone. `now` is the current
    season, `rungs` the number of forms; with `only` the belief about these trees alone is given.
    """
    trees = sorted(lineages, key=lambda lineage: lineage.tree)
    found = learnt_from(trees, rungs, now) if rates is None else rates
    averaged = found.heaviest() if rates is None else rates
    teachers = (
        {lineage.tree for lineage in _teachers(trees)} if rates is None else {one.tree for one in trees}
    )
    beliefs: list[TreeBelief] = []
    for part in _in_parts([one for one in trees if only is None or one.tree in only]):
        nodes = cut_into_nodes(part, rungs, now, averaged.habits)
        beliefs += _beliefs(nodes, averaged, _weights(nodes, averaged, teachers))
    return beliefs, found


def learnt_from(lineages: Sequence[Lineage], rungs: int, now: int) -> Rates:
    """What the notes of enough of these trees teach."""
    return learnt([cut_into_nodes(part, rungs, now) for part in _in_parts(_teachers(lineages))], starting())


def _teachers(lineages: Sequence[Lineage]) -> list[Lineage]:
    """Trees by name until they hold enough notes; at least one."""
    found: list[Lineage] = []
    held = 0
    for lineage in sorted(lineages, key=lambda lineage: lineage.tree):
        if held >= LEARN_FROM:
            break
        notes = sum(1 for _ in lineage.noted())
        if notes:
            found.append(lineage)
        held += notes
    return found


def _weights(nodes: Nodes, rates: Rates, teachers: set[str]) -> Array:
    """The chances [G, trees] of the settings for each tree."""
    weight = np.repeat(rates.weight[:, None], len(nodes.lineages), axis=1)
    others = [i for i, lineage in enumerate(nodes.lineages) if lineage.tree not in teachers]
    if others:
        own = tree_evidence(nodes, rates)[:, others]
        weight[:, others] *= np.exp(own - own.max(axis=0))
    scaled: Array = weight / weight.sum(axis=0)
    return scaled


def _in_parts(lineages: Sequence[Lineage]) -> Iterator[list[Lineage]]:
    """So many trees together as keep the arrays small."""
    part: list[Lineage] = []
    size = 0
    for lineage in lineages:
        blooms = sum(1 for _ in lineage.noted()) + 2 * len(lineage.branches)
        if part and size + blooms > PART:
            yield part
            part, size = [], 0
        part.append(lineage)
        size += blooms
    if part:
        yield part


def _beliefs(nodes: Nodes, rates: Rates, weight: Array) -> Iterator[TreeBelief]:
    asked = _asked(nodes)
    wood = np.empty((len(rates.weight), len(asked.now), nodes.rungs))
    sums = _Sums.none(nodes)
    for places, setting, seen in in_parts(nodes, rates):
        mistakes = float(rates.mistakes[places[0]])
        wood[places], piece = _piece(nodes, setting, seen, mistakes, weight[places], asked)
        sums = sums.plus(piece)
    doubts = _doubts(nodes, sums)
    mine: list[dict[Owner, Array]] = [{} for _ in nodes.lineages]
    for place, (tree, owner) in enumerate(nodes.now):
        mine[tree][owner] = wood[:, place]
    for number, lineage in enumerate(nodes.lineages):
        branches = [id for id in lineage.branches if (id, 0) in mine[number] and id != TRUNK]
        yield TreeBelief(
            lineage,
            rates,
            mine[number],
            {id: sums.loss[:, nodes.first[number, (id, 0)]] for id in branches},
            sums.can_give[:, number],
            tuple(doubts[number]),
        )


@dataclass(frozen=True, eq=False)
class _Asked:
    """Nodes of which something is asked: those of today, as in `Nodes.now`; those of today that were seen in
    flower, on branches with a tag; and [n] those that begin a branch or lie between its beginning and the
    root."""

    now: Whole
    proven: Whole
    beginnings: NDArray[np.bool_]


def _asked(nodes: Nodes) -> _Asked:
    seen = {(tree, owner) for tree, owner, _ in nodes.noted}
    reserves = [set(tagged(lineage)) for lineage in nodes.lineages]
    proven = sorted(
        node
        for (tree, owner), node in nodes.now.items()
        if (tree, owner) in seen and owner[0] in reserves[tree]
    )
    beginnings = np.zeros(len(nodes.parent), dtype=bool)
    beginnings[list(nodes.first.values())] = True
    for level in reversed(nodes.levels[1:]):
        beginnings[nodes.parent[level.span][beginnings[level.span]]] = True
    now = np.array(list(nodes.now.values()), dtype=np.int64)
    return _Asked(now, np.array(proven, dtype=np.int64), beginnings)


@dataclass(frozen=True, eq=False)
class _Sums:
    """What the settings say, weighted and added up."""

    loss: Array  # [K, n]
    can_give: Array  # [K, trees]
    wrong: Array  # [notes], the chance that each is wrong
    could: Array  # [notes], the chance by all others that the wood can give what was noted
    without: Array  # [notes], the weight of the settings without the note: what `could` is a part of

    @staticmethod
    def none(nodes: Nodes) -> "_Sums":
        nodes_, trees, notes = len(nodes.parent), len(nodes.lineages), len(nodes.noted)
        shapes = ((nodes.rungs, nodes_), (nodes.rungs, trees), notes, notes, notes)
        return _Sums(*(np.zeros(shape) for shape in shapes))

    def plus(self, other: "_Sums") -> "_Sums":
        pairs = ((getattr(self, name), getattr(other, name)) for name in self.__dataclass_fields__)
        return _Sums(*(one + two for one, two in pairs))


def _piece(
    nodes: Nodes, setting: Setting, seen: Array, mistakes: float, weight: Array, asked: _Asked
) -> tuple[Array, _Sums]:
    """What some settings say: of the wood of today [G, nodes, K], weighted; and the rest added up.

    `weight` [G, trees].
    """
    upward = pass_up(nodes, setting, seen)
    downward = pass_down(nodes, setting, upward)
    wood = (downward.down[:, asked.now] * upward.up[:, asked.now]).sum(axis=2)
    wood *= (weight[:, nodes.tree[asked.now]] / wood.sum(axis=2))[..., None]
    loss, can_give = _losses(nodes, setting, seen, upward, weight, asked)
    # All that others say of the wood a note is of.
    noted = nodes.noted_nodes
    rest = downward.down[:, noted] * upward.beyond[:, noted]
    clean, wrong = nodes.readings.parts(mistakes)
    right = np.einsum("gnhk,nhk->gn", rest, clean)
    not_right = np.einsum("gnhk,nhk->gn", rest, wrong)
    of_tree = weight[:, nodes.tree[noted]]
    # The settings weighted as they would be without the note.
    without = of_tree / (right + not_right)
    possible = (nodes.readings.right[:, 0] > 0).astype(np.float64)
    could = np.einsum("gnk,nk->gn", rest.sum(axis=2), possible)
    return wood, _Sums(
        loss,
        can_give,
        (of_tree * not_right / (right + not_right)).sum(axis=0),
        (without * could).sum(axis=0),
        (without * rest.sum(axis=(2, 3))).sum(axis=0),
    )


def _losses(
    nodes: Nodes, setting: Setting, seen: Array, upward: Upward, weight: Array, asked: _Asked
) -> tuple[Array, Array]:
    """By form: the chance that cutting at a node loses it [K, n], and that a tree can give it [K, trees]."""
    begin = np.flatnonzero(asked.beginnings)
    trees = nodes.tree[begin]
    evidence = log_evidence(nodes, setting, upward)
    loss = np.zeros((nodes.rungs, len(nodes.parent)))
    can_give = np.zeros((nodes.rungs, len(nodes.lineages)))
    can_give[-1, np.unique(nodes.tree[asked.proven])] = 1.0  # any wood can give the darkest form
    can_give[-1] *= weight.sum(axis=0)
    for form in range(nodes.rungs - 1):
        # "None of those seen in flower can give it": their wood is darker.
        darker = seen.copy()
        darker[asked.proven, :, : form + 1] *= NEXT_TO_NOTHING
        none_up = pass_up(nodes, setting, darker)
        none_down = pass_down(nodes, setting, none_up, asked.beginnings)
        none = np.exp(log_evidence(nodes, setting, none_up) - evidence)
        # The rest of the tree cannot, whatever the branch itself can.
        rest = np.log((none_down.down[:, begin] * upward.up[:, begin]).sum(axis=(2, 3)))
        rest += none_down.log[:, begin] + upward.log[:, begin]
        outside = np.exp(rest - evidence[:, trees])
        lost = (weight[:, trees] * (outside - none[:, trees])).sum(axis=0)
        loss[form, begin] = np.maximum(lost, 0.0)
        can_give[form] = (weight * (1 - none)).sum(axis=0)
    return loss, can_give


def _doubts(nodes: Nodes, sums: _Sums) -> list[list[Doubt]]:
    """The doubtful notes of each tree."""
    found: list[list[Doubt]] = [[] for _ in nodes.lineages]
    for i, (tree, owner, season) in enumerate(nodes.noted):
        if sums.wrong[i] > DOUBTFUL:
            # The darkest wood possible is that of the lightest form seen.
            form = int((nodes.readings.right[i, 0] > 0).sum()) - 1
            is_lighter = bool(sums.could[i] < 0.5 * sums.without[i])
            found[tree].append(Doubt(owner, season, form, float(sums.wrong[i]), is_lighter))
    return [sorted(one, key=lambda doubt: (doubt.owner, doubt.season)) for one in found]
