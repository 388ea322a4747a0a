"""The plan as JSON for other programs: sorted, one line an entry, the same bytes for the same plan."""

import json
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from care_planner.tasks.model import Task
from care_planner.tasks.stage_rows import StageRow
from care_planner.words.chains import why_lines_of
from care_planner.words.moves import moved_words
from care_planner.years.move import move_data

_encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode


def plan_json(
    today: int,
    season: int,
    until: int,
    tasks: Iterable[Task],
    stages: Iterable[StageRow],
    problems: Iterable[object],
    uids: Mapping[str, str],
) -> bytes:
    """The bytes of plan.json.

    `today` and `until` are proleptic ordinals, `uids` the UID of each task's key; `problems` anything
    whose text says it. Raises KeyError for a task without a UID.
    """
    # The key makes the order of two works on one day whole; it holds no date, so neither do ties.
    ordered = sorted(tasks, key=lambda task: (task.day, task.tree, task.rule, task.season, task.key))
    days = _Days()
    parts = (
        f'"today": "{days[today]}"',
        f'"season": {season}',
        f'"until": "{days[until]}"',
        _list("tasks", [_encode(_task(task, uids[task.key], days)) for task in ordered]),
        _list("stages", sorted(_encode(_stage(row, days)) for row in stages)),
        _list("problems", [_encode(text) for text in sorted(set(map(str, problems)))]),
    )
    # A lone surrogate in a name has no UTF-8; it becomes a question mark rather than a crash.
    return ("{\n" + ",\n".join(parts) + "\n}\n").encode("utf-8", "replace")


class _Days(dict[int, str]):
    """ISO dates by ordinal, each made once: a plan has far fewer days than tasks."""

    def __missing__(self, day: int) -> str:
        self[day] = date.fromordinal(day).isoformat()
        return self[day]


def _task(task: Task, uid: str, days: _Days) -> dict[str, Any]:
    window = task.window
    return {
        "id": uid,
        "key": task.key,
        "tree": task.tree,
        "rule": task.rule,
        "season": task.season,
        "occurrence": task.occurrence,
        "title": task.title,
        "what": task.what,
        "date": days[task.day],
        "window": {
            "opens": None if window.opens is None else days[window.opens],
            "likely": None if window.likely is None else days[window.likely],
            "closes": None if window.closes is None else days[window.closes],
        },
        "chance": round(task.chance, 4),
        "minutes": task.minutes,
        "cautions": task.cautions,
        "why": why_lines_of(task),
        "moved": moved_words(task.move),
        "move": move_data(task.move),
        "kind": task.kind,
        "firm": task.firm,
    }


def _stage(row: StageRow, days: _Days) -> dict[str, Any]:
    return {
        "tree": row.tree,
        "stage": row.stage,
        "bbch": row.bbch,
        "season": row.season,
        "p10": None if row.p10 is None else days[row.p10],
        "p50": None if row.p50 is None else days[row.p50],
        "p90": None if row.p90 is None else days[row.p90],
        "reached": row.reached,
        "basis": row.basis,
    }


def _list(name: str, rows: list[str]) -> str:
    if not rows:
        return f'"{name}": []'
    return f'"{name}": [\n' + ",\n".join(rows) + "\n]"
