"""What `read_previous` should give back of a plan, worked out without a file."""

from collections import defaultdict
from collections.abc import Iterable

from care_planner.tasks.model import Task
from care_planner.tasks.stage_rows import StageRow
from care_planner.years.previous import PreviousPlan, PreviousTask, PreviousTree


def previous_plan(tasks: Iterable[Task], stages: Iterable[StageRow], today: int) -> PreviousPlan:
    """A plan just made, as the one before the next."""
    by_tree: defaultdict[str, dict[str, PreviousTask]] = defaultdict(dict)
    expected: defaultdict[str, dict[tuple[str, int], int]] = defaultdict(dict)
    for task in tasks:
        by_tree[task.tree][task.part] = PreviousTask(
            task.day,
            task.title,
            task.rule,
            task.kind,
            task.season,
            task.window.opens,
            task.window.closes,
            task.move,
        )
    for row in stages:
        if row.p50 is not None:
            expected[row.tree][row.stage, row.season] = row.p50
    trees = {tree: PreviousTree(by_tree[tree], expected[tree], today) for tree in {*by_tree, *expected}}
    return PreviousPlan(today, trees)
