"""What stands of the next nights, written for the next run."""

import json
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path

from care_planner.climate.write_store import replace_text
from care_planner.outlook.watch.read_watches import KEPT_DAYS, WATCHES_FILE, Written


def write_watches(store: Path, written: Mapping[str, Written], today: int) -> None:
    """Remember what stands, nights long past left out. OSError."""
    kept = {
        key: asdict(value)
        for key, value in sorted(written.items())
        if int(key.rpartition("/")[2]) > today - KEPT_DAYS
    }
    replace_text(store / WATCHES_FILE, json.dumps(kept, indent=1) + "\n")
