"""From which branches to take cuttings, how many, and what to do with those that are growing. Pure."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from care_planner.colours.belief import TreeBelief
from care_planner.colours.decisions import RISK, branches_there, wanted_form
from care_planner.colours.flowers import Array
from care_planner.colours.lineage import Batch, Lineage
from care_planner.colours.passing import transition

BEST = 3  # branches named to take cuttings from
# More cuttings than this and so many more a plant wanted, nobody takes of one branch. Starting values.
MOST, MOST_EACH = 10, 3
# Two of three cuttings root: starting belief, common practice, no source; learnt from the batches noted.
ROOTED, FAILED = 2.0, 1.0
POINTS = 100  # of the belief about rooting


@dataclass(frozen=True)
class Take:
    """Cuttings to take of a branch: `count` is None where no number a grower can take reaches the goal."""

    branch: str
    form: int
    chance: float  # that a cutting of it keeps the range
    count: int | None
    reached: float  # the chance of reaching the goal with `count`, or with as many as one can take
    roots_too_seldom: bool = False  # with every cutting rooting there would be a number


@dataclass(frozen=True)
class Advice:
    """What to do with one plant of a batch, or with all that have not flowered (`plant` 0)."""

    batch: str
    plant: int
    what: str  # keep, grow on, give away
    form: int
    chance: float  # that it keeps the range
    flowers: int


def rooting(lineages: Iterable[Lineage]) -> Array:
    """A belief about the chance that a cutting roots, as [points, (chance, weight)].

    Where nobody noted how many rooted, those that lived on rooted, and those that died unseen did not.
    """
    counts = [_rooted(batch) for lineage in lineages for batch in lineage.batches.values()]
    good = ROOTED + sum(good for good, _ in counts)
    bad = FAILED + sum(bad for _, bad in counts)
    chance = (np.arange(POINTS) + 0.5) / POINTS
    log = (good - 1) * np.log(chance) + (bad - 1) * np.log1p(-chance)
    weight = np.exp(log - log.max())
    kept = weight > weight.max() * 1e-9
    return np.stack([chance[kept], weight[kept] / weight[kept].sum()], axis=1)


def _rooted(batch: Batch) -> tuple[int, int]:
    """How many of a batch are known to have rooted, and not to have."""
    if batch.rooted is not None:
        return batch.rooted, batch.count - batch.rooted
    lived = {*batch.blooms, *(plant for plant, fate in batch.fates.items() if fate != "dead")}
    died = batch.dead + sum(plant not in lived for plant in batch.fates)
    if not died:
        return 0, 0  # of the others nobody knows
    good = min(max(len(lived), batch.potted or 0, batch.given_away), batch.count)
    return good, min(died, batch.count - good)


def keeps(belief: TreeBelief, branch: str, form: int) -> tuple[Array, Array]:
    """Weights and, for each, the chance that a cutting taken now can give `form` when it first flowers.

    Both [G * K]: one for every pair of rates and rung of the branch's wood. Given these, cuttings of one
    branch keep the range independently of one another.
    """
    wood = belief.wood[branch, 0]
    step = transition(belief.rates.darken, belief.rates.back, wood.shape[1])
    return wood.ravel(), step[:, :, : form + 1].sum(axis=2).ravel()


def chance_of_cutting(belief: TreeBelief, branch: str, form: int) -> float:
    """The chance that a cutting of a branch, taken this season, can still give `form`."""
    weight, chance = keeps(belief, branch, form)
    return float(weight @ chance)


def cuttings_needed(
    belief: TreeBelief, branch: str, form: int, wanted: int, risk: float, roots: Array
) -> tuple[int | None, float]:
    """The fewest cuttings of which at least `wanted` root and keep the range but for this risk.

    With it the chance reached by that number, or by as many as one can take where that is not enough (None).
    """
    weight, chance = keeps(belief, branch, form)
    heavy = weight > 1e-12
    both = (chance[heavy, None] * roots[None, :, 0]).ravel()
    weights = (weight[heavy, None] * roots[None, :, 1]).ravel()
    weights /= weights.sum()
    # The chance of each number of successes below the goal, one cutting after another.
    below = np.zeros((wanted, len(both)))
    below[0] = 1.0
    reached = 0.0
    for count in range(1, MOST + MOST_EACH * wanted + 1):
        below[1:] = below[1:] * (1 - both) + below[:-1] * both
        below[0] *= 1 - both
        reached = 1 - float(weights @ below.sum(axis=0))
        if reached >= 1 - risk:
            return count, reached
    return None, reached


def to_take(
    belief: TreeBelief, wanted: int, roots: Array, risk: float = RISK, most: int = BEST
) -> list[Take]:
    """The best branches to take cuttings from, best first; only of those seen in flower, where any was."""
    form = wanted_form(belief)
    if form is None:
        return []
    there = branches_there(belief.lineage)
    seen = [branch.id for branch in there if branch.blooms] or [branch.id for branch in there]
    chances = {branch: chance_of_cutting(belief, branch, form) for branch in seen}
    best = sorted(seen, key=lambda branch: (-chances[branch], branch))[:most]
    return [_take(belief, branch, form, chances[branch], wanted, risk, roots) for branch in best]


def _take(
    belief: TreeBelief, branch: str, form: int, chance: float, wanted: int, risk: float, roots: Array
) -> Take:
    count, reached = cuttings_needed(belief, branch, form, wanted, risk, roots)
    all_root = np.ones((1, 2))
    seldom = count is None and cuttings_needed(belief, branch, form, wanted, risk, all_root)[0] is not None
    return Take(branch, form, chance, count, reached, seldom)


def advise(belief: TreeBelief, risk: float = RISK) -> list[Advice]:
    """For every batch: the plants that have flowered one by one, the others together.

    A plant is given away where the chance that it keeps the range is no more than the accepted risk,
    kept where the chance that it does not is no more than that, and grown on else. None is judged before
    it has flowered.
    """
    form = wanted_form(belief)
    if form is None:
        return []
    found = []
    for batch in belief.lineage.batches.values():
        for plant, seasons in batch.blooms.items():
            if plant in batch.fates:
                continue
            chance = float(belief.gives((batch.id, plant))[form])
            flowers = sum(sum(bloom.counts) for bloom in seasons.values())
            found.append(Advice(batch.id, plant, verdict(chance, risk), form, chance, flowers))
        if unproven(batch):
            chance = float(belief.gives((batch.id, 0))[form])
            found.append(Advice(batch.id, 0, "grow on", form, chance, 0))
    return found


def verdict(chance: float, risk: float) -> str:
    """What to do with a plant that has flowered, by the chance that it keeps the range."""
    return "give away" if chance <= risk else "keep" if chance >= 1 - risk else "grow on"


def unproven(batch: Batch) -> int:
    """How many plants of a batch have not been seen in flower and are not known to be gone."""
    rooted = batch.count if batch.rooted is None else batch.rooted
    return max(0, rooted - batch.dead - batch.given_away - len({*batch.blooms, *batch.fates}))


def to_look_at(lineage: Lineage, season: int) -> list[Batch]:
    """Batches whose plants may flower for the first time this season."""
    return [batch for batch in lineage.batches.values() if unproven(batch) and season > batch.taken]
