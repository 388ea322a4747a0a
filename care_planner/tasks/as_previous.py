"""A plan just made, as the one before the next."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from care_planner.tasks.model import Task
from care_planner.years.previous import PreviousPlan, PreviousTask, PreviousTree


def previous_plan(tasks: Iterable[Task], stages: Iterable[Mapping[str, Any]], today: int) -> PreviousPlan:
    """A plan just made, as the one before the next. `stages` are rows as in plan.json."""
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
            task.moved,
        )
    for row in stages:
        if row["p50"] is not None:
            day = date.fromisoformat(row["p50"]).toordinal()
            expected[row["tree"]][row["stage"], row["season"]] = day
    trees = {tree: PreviousTree(by_tree[tree], expected[tree], today) for tree in {*by_tree, *expected}}
    return PreviousPlan(today, trees)
