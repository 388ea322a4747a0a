"""Reads back the plan that was published in a folder."""

import json
from collections import defaultdict
from datetime import date
from pathlib import Path
from typing import Any

from care_planner.disk.read_bytes import read_bytes
from care_planner.years.move import move_of
from care_planner.years.previous import PreviousPlan, PreviousTask, PreviousTree

PLAN_NAME = "plan.json"


def read_previous(folder: Path) -> tuple[PreviousPlan, list[str]]:
    """The plan in `folder`, or an empty one; a message where a plan is there that cannot be read.

    Losing it costs no more than steadiness: dates may move without a reason given.
    """
    try:
        data = json.loads(read_bytes(folder / PLAN_NAME))
        return _plan(data), []
    except FileNotFoundError:
        return PreviousPlan(), []
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError, OverflowError):
        return PreviousPlan(), [
            f"{folder / PLAN_NAME} could not be read back: dates may move without a reason"
        ]


def _plan(data: Any) -> PreviousPlan:
    tasks: defaultdict[str, dict[str, PreviousTask]] = defaultdict(dict)
    stages: defaultdict[str, dict[tuple[str, int], int]] = defaultdict(dict)
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
    today = _ordinal(data["today"])
    trees = {tree: PreviousTree(tasks[tree], stages[tree], today) for tree in {*tasks, *stages}}
    return PreviousPlan(today, trees)


def _day(text: str | None) -> int | None:
    return None if text is None else _ordinal(text)


def _ordinal(text: str) -> int:
    return date.fromisoformat(text).toordinal()
