"""Reads back the plan that was published in a folder."""

import json
from collections import defaultdict
from datetime import date
from pathlib import Path
from typing import Any

from care_planner.disk.read_bytes import read_bytes
from care_planner.years.move import Move, move_of
from care_planner.years.previous import PreviousPlan, PreviousTask, PreviousTree, look_part, work_part

PLAN_NAME = "plan.json"
Tasks = defaultdict[str, dict[str, PreviousTask]]
Stages = defaultdict[str, dict[tuple[str, int], int]]


def read_previous(folder: Path) -> tuple[PreviousPlan, list[str]]:
    """The plan in `folder`, of this version or an older one, or an empty one; a message where a plan is there
    that cannot be read.

    Losing it costs no more than steadiness: dates may move without a reason given.
    """
    try:
        data = json.loads(read_bytes(folder / PLAN_NAME))
        return _plan(data), []
    except FileNotFoundError:
        return PreviousPlan(), []
    except (OSError, ValueError, LookupError, TypeError, AttributeError, RecursionError, OverflowError):
        return PreviousPlan(), [
            f"{folder / PLAN_NAME} could not be read back: dates may move without a reason"
        ]


def _plan(data: Any) -> PreviousPlan:
    tasks: Tasks = defaultdict(dict)
    stages: Stages = defaultdict(dict)
    if data.get("version", 1) == 1:
        _read_version_1(data, tasks, stages)
    else:
        _read_version_2(data, tasks, stages)
    today = _ordinal(data["today"])
    trees = {tree: PreviousTree(tasks[tree], stages[tree], today) for tree in {*tasks, *stages}}
    return PreviousPlan(today, trees)


def _read_version_2(data: Any, tasks: Tasks, stages: Stages) -> None:
    texts = data["texts"]
    for row in data["tasks"]:
        opens, _, closes = map(_day, row["window"])
        rule, season, kind = str(row["rule"]), int(row["season"]), str(row["kind"])
        for occurrence, day, *more in row["days"]:
            moved = more[-1] if len(more) > 1 else None
            part = look_part(row["stage"], season) if kind == "look" else work_part(rule, season, occurrence)
            told = (texts[row["title"]], rule, kind, season, opens, closes, _move(moved))
            tasks[row["tree"]][part] = PreviousTask(_ordinal(day), *told, left="left" in row)
    columns = data["stage_columns"]
    id, season, middle = (columns.index(name) for name in ("stage", "season", "p50"))
    for tree, rows in data["stages"].items():
        for row in rows:
            if row[middle] is not None:
                stages[tree][row[id], int(row[season])] = _ordinal(row[middle])


def _read_version_1(data: Any, tasks: Tasks, stages: Stages) -> None:
    for row in data["tasks"]:
        part = str(row["key"]).removeprefix(f"{row['tree']}/")
        tasks[row["tree"]][part] = PreviousTask(
            _ordinal(row["date"]),
            str(row["title"]),
            str(row["rule"]),
            str(row["kind"]),
            int(row["season"]),
            _day(row["window"]["opens"]),
            _day(row["window"]["closes"]),
            move_of(row.get("move"), str(row["moved"])),
        )
    for row in data["stages"]:
        if row["p50"] is not None:
            stages[row["tree"]][row["stage"], int(row["season"])] = _ordinal(row["p50"])


def _move(data: Any) -> Move | None:
    return move_of(None, data) if isinstance(data, str) else move_of(data, "")


def _day(text: str | None) -> int | None:
    return None if text is None else _ordinal(text)


def _ordinal(text: str) -> int:
    return date.fromisoformat(text).toordinal()
