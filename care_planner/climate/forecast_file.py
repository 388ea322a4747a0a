"""A forecast that stands in a file of the folder: whatever a grower's own program writes there.

CSV with `issued,date,tmin_c,tmax_c` and, where known, `rain_mm,sd_c,cloud_pct,wind_m_s`; several issues may
follow one another. `issued` is an ISO time with its zone, or without one in the site's own. A row that cannot
be of a forecast made by now is passed over: one wrong year would stand for decades.
"""

import csv
import io
import math
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta, tzinfo

import numpy as np

from care_planner.climate.forecast import FORECAST_YEARS, MOST_DAYS, Forecast
from care_planner.climate.plain_number import plain_number
from care_planner.climate.weather_table import shown

SERVICE = "file"
NEEDED = ("issued", "date", "tmin_c", "tmax_c")
OPTIONAL = ("rain_mm", "sd_c", "cloud_pct", "wind_m_s")
_COLDEST, _HOTTEST = -90.0, 60.0
# So far two machines' clocks may be apart.
CLOCK_DRIFT = timedelta(minutes=10)


def parse_file(text: str, zone: tzinfo, now: datetime) -> tuple[list[Forecast], list[tuple[int, str]]]:
    """The issues made by `now` (aware), the oldest first, and what is wrong with the text: (line, words)."""
    faults: list[tuple[int, str]] = []
    rows = _rows(text, faults)
    names = [name.strip().lower() for name in next(rows, (1, []))[1]]
    missing = [name for name in NEEDED if name not in names]
    if missing:
        return [], [(1, f"no column {missing[0]}; needed: {','.join(NEEDED)}")]
    issues: dict[datetime, dict[int, dict[str, float]]] = {}
    for line, row in rows:
        try:
            cells = dict(zip(names, row, strict=True))
            issued = _issued(cells["issued"], zone, now)
            day = _day(cells["date"], issued.astimezone(zone).date())
            values = {name: _number(cells.get(name, "")) for name in (*NEEDED[2:], *OPTIONAL)}
            _must_be(values)
        except ValueError as error:
            faults.append((line, str(error)))
            continue
        issues.setdefault(issued, {})[day.toordinal()] = values
    return [_forecast(issued, days) for issued, days in sorted(issues.items())], faults


def _rows(text: str, faults: list[tuple[int, str]]) -> Iterator[tuple[int, list[str]]]:
    """Rows that hold anything with their lines, as far as the text can be read as CSV."""
    reader = csv.reader(io.StringIO(text))
    try:
        for row in reader:
            if row:
                yield reader.line_num, row
    except csv.Error as error:
        faults.append((reader.line_num, f"not readable as CSV ({error})"))


def _forecast(issued: datetime, days: dict[int, dict[str, float]]) -> Forecast:
    first, end = min(days), max(days) + 1
    names = ("tmin_c", "tmax_c", *OPTIONAL)
    columns = [
        np.array([days.get(day, {}).get(name, math.nan) for day in range(first, end)]) for name in names
    ]
    return Forecast(SERVICE, issued, first, *columns)


def _issued(text: str, zone: tzinfo, now: datetime) -> datetime:
    found = datetime.fromisoformat(text.strip())
    if found.year not in FORECAST_YEARS:
        raise ValueError(f"issued {shown(text)} is no time of a forecast")
    issued = (found if found.tzinfo else found.replace(tzinfo=zone)).astimezone(UTC)
    if issued > now + CLOCK_DRIFT:
        raise ValueError(f"issued {shown(text)} is later than now")
    return issued


def _day(text: str, issued_on: date) -> date:
    day = date.fromisoformat(text.strip())
    if abs((day - issued_on).days) > MOST_DAYS:
        raise ValueError(f"date {shown(text)} is more than {MOST_DAYS} days from its issue of {issued_on}")
    return day


def _number(cell: str) -> float:
    value = plain_number(cell)
    if value is None and cell.strip():
        raise ValueError(f"{shown(cell)} is no number")
    return math.nan if value is None else value


def _must_be(values: dict[str, float]) -> None:
    low, high = values["tmin_c"], values["tmax_c"]
    for value in (low, high):
        if not math.isnan(value) and not _COLDEST <= value <= _HOTTEST:
            raise ValueError(f"{value:g} degC cannot be")
    if low > high:
        raise ValueError(f"tmin_c {low:g} is above tmax_c {high:g}")
