"""A forecast that stands in a file of the folder: whatever a grower's own program writes there.

CSV with `issued,date,tmin_c,tmax_c` and, where known, `rain_mm,sd_c,cloud_pct,wind_m_s`; several issues may
follow one another. `issued` is an ISO time with its zone, or without one in the site's own.
"""

import csv
import io
import math
from datetime import UTC, date, datetime, tzinfo

import numpy as np

from care_planner.climate.forecast import Forecast

SERVICE = "file"
NEEDED = ("issued", "date", "tmin_c", "tmax_c")
OPTIONAL = ("rain_mm", "sd_c", "cloud_pct", "wind_m_s")
_COLDEST, _HOTTEST = -90.0, 60.0


def parse_file(text: str, zone: tzinfo) -> tuple[list[Forecast], list[tuple[int, str]]]:
    """The issues in the text, the oldest first, and what is wrong with it: (line, words)."""
    reader = csv.reader(io.StringIO(text))
    names = [name.strip().lower() for name in next(reader, [])]
    missing = [name for name in NEEDED if name not in names]
    if missing:
        return [], [(1, f"no column {missing[0]}; needed: {','.join(NEEDED)}")]
    issues: dict[datetime, dict[int, dict[str, float]]] = {}
    faults = []
    for row in reader:
        if not row:
            continue
        try:
            cells = dict(zip(names, row, strict=True))
            issued, day = _issued(cells["issued"], zone), date.fromisoformat(cells["date"].strip())
            values = {name: _number(cells.get(name, "")) for name in (*NEEDED[2:], *OPTIONAL)}
            _must_be(values)
        except ValueError as error:
            faults.append((reader.line_num, str(error)))
            continue
        issues.setdefault(issued, {})[day.toordinal()] = values
    return [_forecast(issued, days) for issued, days in sorted(issues.items())], faults


def _forecast(issued: datetime, days: dict[int, dict[str, float]]) -> Forecast:
    first, end = min(days), max(days) + 1
    names = ("tmin_c", "tmax_c", *OPTIONAL)
    columns = [
        np.array([days.get(day, {}).get(name, math.nan) for day in range(first, end)]) for name in names
    ]
    return Forecast(SERVICE, issued, first, *columns)


def _issued(text: str, zone: tzinfo) -> datetime:
    found = datetime.fromisoformat(text.strip())
    return (found if found.tzinfo else found.replace(tzinfo=zone)).astimezone(UTC)


def _number(cell: str) -> float:
    text = cell.strip()
    if not text:
        return math.nan
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"{text!r} is no number")
    return value


def _must_be(values: dict[str, float]) -> None:
    low, high = values["tmin_c"], values["tmax_c"]
    for value in (low, high):
        if not math.isnan(value) and not _COLDEST <= value <= _HOTTEST:
            raise ValueError(f"{value:g} degC cannot be")
    if low > high:
        raise ValueError(f"tmin_c {low:g} is above tmax_c {high:g}")
