"""The new rows of a growing CSV taken into the collection's own store; rows read before are not read again.

The store only ever gains days, so a station that begins a new file each year, or loses its card, costs
nothing that was read before. Days after today are no measurement: none is taken, and one that a wrong clock
once let in leaves again. The file is then read again from its first such row on, until their day has come.
"""

import hashlib
import io
import json
from datetime import date
from pathlib import Path

import numpy as np

from care_planner.climate.growing import NO_ROWS, GoodRows, good_rows, merge_rows
from care_planner.climate.read_weather import read_text
from care_planner.climate.record import WeatherRecord, counted, daily_record
from care_planner.climate.weather_table import OPTIONAL, parse_table
from care_planner.climate.write_store import days_text, replace_text
from care_planner.problems import Problem

GROWING_FOLDER = "growing"
_COLUMNS = ("tmin_c", "tmax_c", *OPTIONAL)


def take_new_rows(
    path: Path, shown_as: str, store: Path, today: date
) -> tuple[WeatherRecord | None, list[str], list[Problem]]:
    """The record of a growing CSV, its new rows kept in `store`; what to tell; and mistakes that stop a plan.

    Mistakes are: no such file and nothing in the store, a header that cannot be used, no usable day at all. A
    file that is missing while the store holds its days is a message only.
    """
    kept = store / GROWING_FOLDER / f"{path.name.replace('.', '-')}.csv"
    rows, seen = _stored(kept, today.toordinal())
    text, unreadable = read_text(path, shown_as)
    if text is None:
        if not len(rows.days):
            return None, [], unreadable
        return _record(rows, shown_as), [f"{unreadable[0]}: the rows read before are used"], []
    # A row that is being written just now has no line break yet.
    text = text[: text.rfind("\n") + 1] or text
    header, old_length, start = _new_part(text, seen)
    new, first_line = header + text[start:], text.count("\n", 0, start) + 1
    fresh, told = good_rows(new, shown_as, today.toordinal(), rows, first_line)
    if fresh is None:
        return None, [], parse_table(text, shown_as)[1] or [Problem(shown_as, 1, "has no usable header")]
    merged = merge_rows(rows, fresh)
    if not len(merged.days):
        return None, [], [Problem(shown_as, 0, "holds no usable day yet", "needed: date,tmin_c,tmax_c rows")]
    read = text[: start - len(header) + _before_line(new, fresh.first_future)]
    gained = len(merged.days) - len(rows.days)
    if gained or len(read) != old_length:
        told.insert(0, f"{shown_as}: {counted(gained, 'new day')}")
        told += _keep(kept, merged, read)
    return _record(merged, shown_as), told, []


def _new_part(text: str, seen: tuple[int, str]) -> tuple[str, int, int]:
    """The header to put before the new part, how much was read before, and where the new part starts."""
    length, digest = seen
    if 0 < length <= len(text) and _digest(text[:length]) == digest:
        header = next(line for line in text.splitlines(True) if line.strip() and not line.startswith("#"))
        return header, length, length
    return "", 0, 0


def _before_line(text: str, line: int) -> int:
    """How much of the text stands before a line; all of it for line 0."""
    return sum(map(len, io.StringIO(text, newline="").readlines()[: line - 1])) if line else len(text)


def _stored(kept: Path, today: int) -> tuple[GoodRows, tuple[int, str]]:
    """The rows up to today, and how much of the file they are of: none, where there were later ones."""
    text, _ = read_text(kept, kept.name) if kept.exists() else (None, [])
    table = parse_table(text, kept.name)[0] if text else None
    if text is None or table is None:
        return NO_ROWS, (0, "")
    try:
        said = json.loads(text.splitlines()[0].removeprefix("# "))
        seen = int(said["read"]), str(said["sha256"])
    except (ValueError, KeyError, TypeError, RecursionError, OverflowError):
        seen = 0, ""
    good = np.diff(np.maximum.accumulate(table.days), prepend=0) > 0
    rows = GoodRows(table.days[good], {n: v[good] for n, v in table.columns.items()})
    past = rows.until(today)
    return past, seen if len(past.days) == len(rows.days) else (0, "")


def _keep(kept: Path, rows: GoodRows, text: str) -> list[str]:
    said = json.dumps({"read": len(text), "sha256": _digest(text)})
    names = [name for name in _COLUMNS if name in rows.columns]
    try:
        replace_text(kept, "\n".join([f"# {said}", *days_text(rows.days, rows.columns, names)]) + "\n")
    except OSError as error:
        return [f"the new days could not be kept in {kept.name} ({error.strerror or error})"]
    return []


def _record(rows: GoodRows, shown_as: str) -> WeatherRecord:
    return daily_record(rows.days, rows.columns, shown_as)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8")).hexdigest()
