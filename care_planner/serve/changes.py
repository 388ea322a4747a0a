"""What re-plans moved, for a page: what the command line says, for the trees a link shows."""

from collections.abc import Collection as Some
from collections.abc import Iterable
from dataclasses import replace

from care_planner.plan import Plan
from care_planner.rulebook.pack import Rulebook
from care_planner.serve.planner import Changed
from care_planner.show.changes import ChangeGroup, change_groups
from care_planner.years.previous import PreviousPlan


def groups_of_changes(
    changes: Iterable[Changed], after: int, trees: Some[str], rulebook: Rulebook
) -> list[ChangeGroup]:
    """What the plans numbered above `after` changed on `trees`, in order, each said once."""
    groups: dict[str, dict[str, None]] = {}
    for changed in changes:
        if changed.number > after:
            previous, plan = _only(changed.previous, changed.plan, trees)
            for group in change_groups(previous, plan, rulebook):
                groups.setdefault(group.title, {}).update(dict.fromkeys(group.lines))
    return [ChangeGroup(title, tuple(lines)) for title, lines in groups.items()]


def _only(previous: PreviousPlan, plan: Plan, trees: Some[str]) -> tuple[PreviousPlan, Plan]:
    """Both plans, as if there were no other trees."""
    return (
        replace(previous, trees={tree: told for tree, told in previous.trees.items() if tree in trees}),
        replace(
            plan,
            tasks=[task for task in plan.tasks if task.tree in trees],
            done=[task for task in plan.done if task.tree in trees],
            fates={tree: fates for tree, fates in plan.fates.items() if tree in trees},
        ),
    )
