"""A plan as CSV, for a spreadsheet: a row a dated thing, or a row a stage."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from care_planner.collection.model import Collection
from care_planner.folder.lists.text import table
from care_planner.plan import Plan
from care_planner.rulebook.pack import Rulebook
from care_planner.tasks.model import Task
from care_planner.tasks.questions import Question
from care_planner.tasks.stage_rows import StageRow

TASK_COLUMNS = (
    *("tree", "taxon", "bench", "rule", "title", "way", "loss", "season", "occurrence", "day", "until"),
    *("opens", "closes", "chance", "minutes", "firm", "asked"),
)
STAGE_COLUMNS = ("tree", "season", "stage", "bbch", "p10", "p50", "p90", "seen")


def tasks_csv(plan: Plan, collection: Collection, rulebook: Rulebook) -> str:
    """A row a dated work, walk item or watch, and a row a tree for what is asked, by day; ISO days. Work done
    is not in it."""
    rows = [_task_row(task) for task in plan.tasks if not task.done]
    benches = {tree.id: tree.bench for tree in collection.trees}
    for asked in plan.questions:
        rows += [_asked_row(asked, tree, plan.taxa[tree], benches[tree], rulebook) for tree in asked.trees]
    return table(TASK_COLUMNS, sorted(rows, key=lambda row: (row[9], row[0], row[3], row[7], row[8])))


def stages_csv(rows: Iterable[StageRow]) -> str:
    """A row a stage of a tree and season, by tree; ISO days, empty where they are not known or never come."""
    ordered = sorted(rows, key=lambda row: (row.tree, row.season, row.p50 or row.p10 or 10**9, row.stage))
    return table(STAGE_COLUMNS, map(_stage_row, ordered))


def _asked_row(asked: Question, tree: str, taxon: str, bench: str, rulebook: Rulebook) -> list[Any]:
    rule = rulebook.taxa[taxon].rules[asked.rule]
    head = [tree, taxon, bench, asked.rule, asked.title, rule.way, rule.loss, asked.season, 1]
    return [*head, _iso(asked.on), "", "", _iso(asked.since - 1), "", "", "no", "yes"]


def _task_row(task: Task) -> list[Any]:
    window = task.window
    return [
        *(task.tree, task.taxon, task.bench, task.rule, task.title, task.way, task.loss),
        *(task.season, task.occurrence, _iso(task.day), _iso(task.until)),
        *(_iso(window.opens), _iso(window.closes), f"{task.chance:.2f}", task.minutes),
        *("yes" if task.firm else "no", ""),
    ]


def _stage_row(row: StageRow) -> list[object]:
    seen = row.p50 if row.basis == "observed" else None
    return [row.tree, row.season, row.stage, row.bbch, *map(_iso, (row.p10, row.p50, row.p90, seen))]


def _iso(day: int | None) -> str:
    return "" if day is None else date.fromordinal(day).isoformat()
