"""What follows for pruning, tagging, display and the variety's name. Pure.

Practice behind it (common practice, no source): a cut that takes the last light branch loses the tree's
range for ever; colour can be seen for two weeks a year; darker flowers belong inside and below, lighter
ones outside and above; a plant that can no longer show its variety's range should not carry its name.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from statistics import median

import numpy as np

from care_planner.colours.belief import TreeBelief
from care_planner.colours.lineage import KnownBranch, Lineage, tagged
from care_planner.colours.slices import Owner

RISK = 0.1  # accepted chance of a loss that cannot be made good; the grower's to set (risk: colours)
# What is said of a chance: sure, likely, perhaps, hardly, each from here on. Starting values.
SURE, LIKELY, HARDLY = 0.98, 0.5, 0.05
FEW = 3  # so many branches share a form closely enough to be named together


@dataclass(frozen=True)
class Keep:
    """Branches of which one at least must stay, the form at stake, and the chance of losing it."""

    branches: tuple[str, ...]
    form: int
    chance: float


@dataclass(frozen=True)
class Worth:
    """Whether a plant still shows enough to carry its variety's name: can it give the lightest form of it?

    `chance` is None where no flower was noted on a branch that is there: not yet seen is no answer.
    """

    form: int
    chance: float | None
    shown: tuple[int, ...]  # forms of the variety that were seen on it
    missing: tuple[int, ...]

    @property
    def carries_the_name(self) -> bool:
        """More likely than not."""
        return self.chance is not None and self.chance >= LIKELY


def branches_there(lineage: Lineage) -> list[KnownBranch]:
    """The branches a person can point at."""
    return [lineage.branches[id] for id in tagged(lineage)]


def must_stay(belief: TreeBelief, risk: float = RISK) -> list[Keep]:
    """Branches a pruning must not take, worst first; then groups of which it must leave one.

    A branch must stay where its cut would lose a form for good with more than the accepted chance. That
    chance is over both readings of every doubtful note, so a branch stays if either says so. Only branches
    that were seen in flower count as a reserve.
    """
    alone = []
    for branch, loss in belief.loss.items():
        at_stake = np.flatnonzero(loss > risk)
        if len(at_stake):
            form = int(at_stake[0])  # the lightest: the forms after it would be missed less
            alone.append(Keep((branch,), form, float(loss[form])))
    named = {(keep.form, branch) for keep in alone for branch in keep.branches}
    return sorted(alone, key=lambda keep: (-keep.chance, keep.branches)) + [
        keep for keep in _groups(belief) if not any((keep.form, b) in named for b in keep.branches)
    ]


def _groups(belief: TreeBelief) -> Iterator[Keep]:
    """Few branches that together hold the tree's lightest form."""
    seen = [b for b in belief.loss if belief.lineage.branches[b].blooms]
    for form, chance in enumerate(belief.can_give):
        if chance >= LIKELY:
            carriers = tuple(sorted(b for b in seen if belief.gives((b, 0))[form] >= LIKELY))
            if 1 < len(carriers) <= FEW:
                yield Keep(carriers, form, float(chance))
            return


def to_tag(belief: TreeBelief, season: int) -> list[KnownBranch]:
    """Branches whose flowers were not noted this season, those of which least is known first."""
    open_ = [branch for branch in branches_there(belief.lineage) if season not in branch.blooms]
    return sorted(open_, key=lambda branch: (belief.lightest((branch.id, 0)).max(), branch.id))


def against_display(belief: TreeBelief) -> list[tuple[KnownBranch, bool]]:
    """Branches that stand against display, and whether they are too dark (else too light) for their place.

    Each is compared with the middle of the tree's placed branches.
    """
    placed = [(branch, place) for branch in branches_there(belief.lineage) if (place := _place(branch))]
    rungs = {branch.id: likely_form(belief, (branch.id, 0)) for branch, _ in placed}
    if not rungs:
        return []
    middle = median(rungs.values())
    found = [(b, rungs[b.id] > middle) for b, place in placed if (rungs[b.id] - middle) * place > 0]
    return sorted(found, key=lambda item: item[0].id)


def _place(branch: KnownBranch) -> int:
    """1 where light flowers belong (high, outside), -1 where dark ones do, 0 where both or neither."""
    score = {"high": 1, "low": -1}.get(branch.height, 0) + {"outside": 1, "inside": -1}.get(branch.depth, 0)
    return (score > 0) - (score < 0)


def likely_form(belief: TreeBelief, owner: Owner) -> int:
    """The likeliest of the forms that may be the lightest its wood can give."""
    return int(np.argmax(belief.lightest(owner)))


def wanted_form(belief: TreeBelief) -> int | None:
    """The form to keep: the lightest its variety is known for, else the lightest that a branch seen in flower
    is likely to give; a lighter one noted once and doubtful is not what the tree is kept for."""
    if belief.lineage.variety:
        return belief.lineage.variety[0]
    likely = np.flatnonzero(belief.can_give >= LIKELY)
    return int(likely[0]) if len(likely) else None


def forms_seen(lineage: Lineage) -> list[int]:
    """Every form that was noted on the tree, in any season."""
    blooms = [bloom for branch in lineage.branches.values() for bloom in branch.blooms.values()]
    return [form for form, counts in enumerate(zip(*(b.counts for b in blooms), strict=True)) if any(counts)]


def worth(belief: TreeBelief) -> Worth | None:
    """Whether the tree can carry its variety's name; None where the variety's forms are not told."""
    lineage = belief.lineage
    if not lineage.variety:
        return None
    form = lineage.variety[0]
    chance = float(belief.can_give[form]) if belief.can_give[-1] > 0 else None
    seen = set(forms_seen(lineage))
    shown = tuple(form for form in lineage.variety if form in seen)
    return Worth(form, chance, shown, tuple(form for form in lineage.variety if form not in seen))
