"""A tree's branches, the cuttings taken from them, and the forms its variety should show."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from pydantic import Field

from care_planner.problems import did_you_mean
from care_planner.typed_yaml.models import Day, Mistake, Season, Slug, Strict, Text, Whole

TRUNK = "trunk"
Height = Literal["low", "middle", "high"]
Depth = Literal["inside", "outside"]


class Branch(Strict):
    """A branch with a tag. What is not told is not assumed."""

    id: Slug = Field(description="what its tag says")
    grows_from: Slug = Field(default=TRUNK, alias="from", description="the branch it grows from")
    since: Season | None = Field(default=None, description="the first season in which it could flower")
    height: Height | None = Field(default=None, description="where it stands in the crown")
    depth: Depth | None = Field(default=None, description="inside the crown or at its outside")


class CuttingBatch(Strict):
    """Cuttings taken from one branch on one day."""

    id: Slug = Field(description="what the batch's label says")
    branch: Slug = Field(default=TRUNK, description="the branch they were taken from")
    taken: Day
    count: Whole = Field(ge=1, le=100_000)


class Variety(Strict):
    """What the tree's variety is known for."""

    name: Text | None = None
    forms: tuple[Slug, ...] = Field(min_length=1, description="the flower forms its variety shows")


def branch_mistakes(branches: Sequence[Branch]) -> Iterator[Mistake]:
    """Two tags alike, branches that grow from themselves, from nothing, or from younger ones."""
    first: dict[str, Branch] = {}
    for number, branch in enumerate(branches):
        if branch.id in first:
            what = f"branch {branch.id!r} is given twice: two tags alike"
            yield Mistake(what, "give each branch its own tag", ("branches", number, "id"))
        first.setdefault(branch.id, branch)
    for number, branch in enumerate(branches):
        parents = {branch.id: branch.grows_from for branch in first.values() if branch.id != TRUNK}
        others = {TRUNK, *first} - {branch.id}
        at = ("branches", number, "from")
        fault = parent_fault(branch.id, branch.grows_from, parents, others)
        if branch.id == TRUNK:
            if branch.grows_from != TRUNK:
                yield Mistake("the trunk grows from no branch", "leave 'from' out", at)
        elif fault is not None:
            yield Mistake(*fault, at)
        elif (parent := first.get(branch.grows_from)) is not None and _older(branch, parent):
            what = f"branch {branch.id!r} is of {branch.since}, older than {parent.id!r} of {parent.since}"
            yield Mistake(what, f"allowed: {parent.since} or later", ("branches", number, "since"))


def _older(branch: Branch, parent: Branch) -> bool:
    return branch.since is not None and parent.since is not None and branch.since < parent.since


def parent_fault(
    branch: str, parent: str, parents: Mapping[str, str], others: set[str]
) -> tuple[str, str] | None:
    """What is wrong with a branch's parent, and what is allowed; `others` are the other branches' ids."""
    if parent == branch:
        return f"branch {branch!r} grows from itself", f"allowed: {', '.join(sorted(others))}"
    if parent not in others:
        return f"branch {branch!r} grows from {parent!r}, which is unknown", did_you_mean(parent, others)
    seen, here = [branch], parent
    while here in parents and here not in seen:
        seen.append(here)
        here = parents[here]
    if here == branch:
        return (
            f"branches in a circle: {' from '.join([*seen, branch])}",
            "each grows from one nearer the trunk",
        )
    return None


def cutting_mistakes(batches: Sequence[CuttingBatch], branches: Sequence[Branch]) -> Iterator[Mistake]:
    """Equal labels, unknown branches, cuttings older than the branch they were taken from."""
    known = {branch.id: branch for branch in branches}
    labels: set[str] = {TRUNK, *known}
    for number, batch in enumerate(batches):
        if batch.id in labels:
            what = f"the label {batch.id!r} is on another batch or branch"
            yield Mistake(what, "give each batch its own label", ("cuttings", number, "id"))
        labels.add(batch.id)
        if batch.branch not in {TRUNK, *known}:
            what = f"batch {batch.id!r} is of branch {batch.branch!r}, which is unknown"
            yield Mistake(what, did_you_mean(batch.branch, {TRUNK, *known}), ("cuttings", number, "branch"))
        since = known[batch.branch].since if batch.branch in known else None
        # Shoots are cut the summer before they could first flower, not sooner.
        if since is not None and batch.taken.year < since - 1:
            what = f"batch {batch.id!r} was taken on {batch.taken}, before its branch grew in {since - 1}"
            yield Mistake(what, "a cutting is no older than its branch", ("cuttings", number, "taken"))
