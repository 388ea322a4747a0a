"""Kept forecasts on disk, read: one row a day of every issue, and what was asked of the service and when.

Each row names its source: the service with the place or the station it was asked for. Forecasts of another
service or place say nothing of how this one errs, and must not be shown under its name.
"""

import csv
import io
import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from pathlib import Path

from care_planner.climate.outlook import KeptDay
from care_planner.climate.plain_number import plain_number

FORECAST_FOLDER = "forecast"
KEPT_FILE, ASKED_FILE = "kept.csv", "asked.json"
VALUES = ("tmin_c", "tmax_c", "rain_mm", "sd_c", "cloud_pct", "wind_m_s")


@dataclass(frozen=True)
class LastAsked:
    """What is remembered of the service. Times are ISO texts in UTC; empty where there is none.

    source, address, contact: for whom this holds. not_before: nothing is asked earlier. issued: of the newest
    forecast kept. failures: in a row; fault: what the last one was, in words.
    """

    source: str = ""
    address: str = ""
    contact: str = ""
    last_modified: str = ""
    not_before: str = ""
    issued: str = ""
    answered: str = ""
    failures: int = 0
    fault: str = ""
    grid: str = ""

    @property
    def issued_at(self) -> datetime | None:
        """When the newest forecast was made."""
        return time_of(self.issued)


def read_kept(store: Path) -> dict[str, list[KeptDay]]:
    """The kept days of every issue by their source; rows that cannot be read are passed over."""
    try:
        text = (store / FORECAST_FOLDER / KEPT_FILE).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return {}
    kept: dict[str, list[KeptDay]] = {}
    for row in csv.DictReader(io.StringIO(text)):
        try:
            source = row["source"].strip()
            issued, day = date.fromisoformat(row["issued"]), date.fromisoformat(row["date"])
            values = [_number(row.get(name)) for name in VALUES]
        except (AttributeError, KeyError, TypeError, ValueError):
            continue
        kept.setdefault(source, []).append(KeptDay(issued.toordinal(), day.toordinal(), *values))
    return kept


def newest_issue(kept: Iterable[KeptDay], day: int, zone: tzinfo) -> datetime | None:
    """When the newest issue there was on a day (ordinal) was made: of kept ones only the day is known."""
    newest = max((row.issued_on for row in kept if row.issued_on <= day), default=None)
    return None if newest is None else datetime.fromordinal(newest).replace(hour=12, tzinfo=zone)


def read_asked(store: Path) -> LastAsked:
    """What was asked last; nothing where there is no such file or it is damaged."""
    try:
        found = json.loads((store / FORECAST_FOLDER / ASKED_FILE).read_text(encoding="utf-8"))
        known = {name: found[name] for name in LastAsked.__dataclass_fields__ if name in found}
        asked = LastAsked(**known)
    except (OSError, ValueError, TypeError, RecursionError):
        return LastAsked()
    texts = [getattr(asked, name) for name in LastAsked.__dataclass_fields__ if name != "failures"]
    fit = all(isinstance(text, str) for text in texts)
    return asked if fit and isinstance(asked.failures, int) else LastAsked()


def time_of(text: str) -> datetime | None:
    """An ISO time with its zone, or None."""
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        return None
    return found if found.tzinfo else None


def _number(cell: str | None) -> float:
    if not cell:
        return math.nan
    value = plain_number(cell)
    if value is None:
        raise ValueError(f"{cell!r} is no number")
    return value


def as_row(source: str, kept: KeptDay) -> Mapping[str, str]:
    """A kept day of a source as the cells of its row."""
    values = {name: getattr(kept, name) for name in VALUES}
    cells = {name: "" if math.isnan(value) else f"{round(value, 2):g}" for name, value in values.items()}
    first = {"source": source, "issued": _iso(kept.issued_on), "date": _iso(kept.day)}
    return {**first, **cells}


def _iso(day: int) -> str:
    return date.fromordinal(day).isoformat()
