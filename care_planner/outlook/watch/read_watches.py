"""What was written of the next nights by earlier runs, read."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import get_args

from care_planner.outlook.watch.nights import State

WATCHES_FILE = "watches.json"
# Nights that have passed stay so long, here and in the calendar.
KEPT_DAYS = 14


@dataclass(frozen=True)
class Written:
    """What stands of one night: its state, and the one a person was last called with, if any."""

    state: State
    told: str = ""


def read_watches(store: Path) -> dict[str, Written]:
    """By key; nothing where there is no such file or it is damaged."""
    try:
        found = json.loads((store / WATCHES_FILE).read_text(encoding="utf-8"))
        return {
            str(key): Written(value["state"], str(value.get("told", "")))
            for key, value in found.items()
            if value["state"] in get_args(State)
        }
    except (OSError, ValueError, AttributeError, TypeError, KeyError, RecursionError):
        return {}
