"""What a re-plan changed, kept small: pages show it for a while after, and plans are large."""

from collections.abc import Collection as Some
from dataclasses import dataclass, replace

from care_planner.plan import Plan
from care_planner.years.previous import PreviousPlan


@dataclass(frozen=True, eq=False)
class Changed:
    """One re-plan: its number, and the plans on both sides of it, of the trees on which they differ."""

    number: int
    previous: PreviousPlan
    plan: Plan


def changed_by(number: int, previous: PreviousPlan, plan: Plan) -> Changed:
    """What a re-plan changed, without the trees whose works and days stayed."""
    before = {
        tree: {part: task.day for part, task in told.tasks.items()} for tree, told in previous.trees.items()
    }
    now: dict[str, dict[str, int]] = {}
    for task in plan.tasks:
        now.setdefault(task.tree, {})[task.part] = task.day
    trees = {tree for tree in {*before, *now} if before.get(tree) != now.get(tree)}
    return Changed(number, *only_of(previous, plan, trees))


def only_of(previous: PreviousPlan, plan: Plan, trees: Some[str]) -> tuple[PreviousPlan, Plan]:
    """Both plans, as if there were no other trees, and without stages."""
    return (
        replace(previous, trees={tree: told for tree, told in previous.trees.items() if tree in trees}),
        replace(
            plan,
            tasks=[task for task in plan.tasks if task.tree in trees],
            done=[task for task in plan.done if task.tree in trees],
            fates={tree: fates for tree, fates in plan.fates.items() if tree in trees},
            stages=[],
        ),
    )
