"""A plan as CSV, for a spreadsheet: a row a dated thing, or a row a stage."""

from collections.abc import Iterable
from datetime import date

from care_planner.folder.lists.text import table
from care_planner.tasks.model import Task
from care_planner.tasks.stage_rows import StageRow

TASK_COLUMNS = (
    *("tree", "taxon", "bench", "rule", "title", "way", "loss", "season", "occurrence", "day", "until"),
    *("opens", "closes", "chance", "minutes", "firm", "asked"),
)
STAGE_COLUMNS = ("tree", "season", "stage", "bbch", "p10", "p50", "p90", "seen")


def tasks_csv(tasks: Iterable[Task], asked: frozenset[str] = frozenset()) -> str:
    """A row a dated work, walk item or watch, by day; ISO days. `asked` are keys of works that are asked
    for. Work done is not in it."""
    ordered = sorted(tasks, key=lambda task: (task.day, task.tree, task.rule, task.season, task.key))
    return table(TASK_COLUMNS, (_task_row(task, task.key in asked) for task in ordered if not task.done))


def stages_csv(rows: Iterable[StageRow]) -> str:
    """A row a stage of a tree and season, by tree; ISO days, empty where they are not known or never come."""
    ordered = sorted(rows, key=lambda row: (row.tree, row.season, row.p50 or row.p10 or 10**9, row.stage))
    return table(STAGE_COLUMNS, map(_stage_row, ordered))


def _task_row(task: Task, asked: bool) -> list[object]:
    window = task.window
    return [
        *(task.tree, task.taxon, task.bench, task.rule, task.title, task.way, task.loss),
        *(task.season, task.occurrence, _iso(task.day), _iso(task.until)),
        *(_iso(window.opens), _iso(window.closes), f"{task.chance:.2f}", task.minutes),
        *("yes" if task.firm else "no", "yes" if asked else ""),
    ]


def _stage_row(row: StageRow) -> list[object]:
    seen = row.p50 if row.basis == "observed" else None
    return [row.tree, row.season, row.stage, row.bbch, *map(_iso, (row.p10, row.p50, row.p90, seen))]


def _iso(day: int | None) -> str:
    return "" if day is None else date.fromordinal(day).isoformat()
