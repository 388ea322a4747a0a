"""plan.json of version 2 as a row a dated thing and a row a stage, for tests that ask for them."""

import json
from pathlib import Path
from typing import Any


def task_rows(path: Path) -> list[dict[str, Any]]:
    """A row for each day of each task."""
    data = json.loads(path.read_text(encoding="utf-8"))
    rows = []
    for task in data["tasks"]:
        title = data["texts"][task["title"]]
        for occurrence, day, *more in task["days"]:
            firm = more[2] if len(more) > 1 else True
            rows.append({**task, "title": title, "occurrence": occurrence, "date": day, "firm": firm})
    return rows


def stage_rows(path: Path) -> list[dict[str, Any]]:
    """A row a stage of a tree."""
    data = json.loads(path.read_text(encoding="utf-8"))
    columns = data["stage_columns"]
    return [
        {"tree": tree, **dict(zip(columns, row, strict=True))}
        for tree, rows in data["stages"].items()
        for row in rows
    ]
