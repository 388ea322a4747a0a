"""Kept forecasts on disk, written: the newest issue of each day beside those of the days before."""

import csv
import io
import json
from collections.abc import Iterable
from dataclasses import asdict
from datetime import tzinfo
from pathlib import Path

from care_planner.climate.forecast import Forecast
from care_planner.climate.outlook import KeptDay
from care_planner.climate.read_forecast import (
    ASKED_FILE,
    FORECAST_FOLDER,
    KEPT_FILE,
    VALUES,
    LastAsked,
    as_row,
    read_kept,
)
from care_planner.climate.write_store import replace_text

# Older forecasts no longer say how the service errs now.
KEPT_YEARS_DAYS = 3 * 365


def keep_forecast(store: Path, forecasts: Iterable[Forecast], zone: tzinfo, source: str, today: int) -> None:
    """Add issues of a source to the store; of the issues of one day of the site the newest stays. OSError.

    What claims to be issued after `today` (ordinal) is dropped: a clock or a file was wrong once, and beside
    it all that is true would be too old to keep.
    """
    kept = read_kept(store)
    kept[source] = with_issues(kept.get(source, ()), forecasts, zone)
    rows = [(name, row) for name in sorted(kept) for row in sorted(kept[name]) if row.issued_on <= today]
    newest = max((row.issued_on for _, row in rows), default=0)
    stream = io.StringIO()
    writer = csv.DictWriter(stream, ("source", "issued", "date", *VALUES), lineterminator="\n")
    writer.writeheader()
    writer.writerows(as_row(name, row) for name, row in rows if row.issued_on > newest - KEPT_YEARS_DAYS)
    replace_text(store / FORECAST_FOLDER / KEPT_FILE, stream.getvalue())


def with_issues(kept: Iterable[KeptDay], forecasts: Iterable[Forecast], zone: tzinfo) -> list[KeptDay]:
    """The kept days of one source with more issues; of the issues of one day the newest stays."""
    held = {(row.issued_on, row.day): row for row in kept}
    for forecast in sorted(forecasts, key=lambda one: one.issued):
        rows = kept_days(forecast, zone)
        if not rows:
            continue
        issued_on = rows[0].issued_on
        fresh = {(row.issued_on, row.day): row for row in rows}
        # What an afternoon's issue no longer says of the morning that has passed stays from the morning's.
        held = {key: row for key, row in held.items() if row.issued_on != issued_on or row.day == issued_on}
        held |= fresh
    return list(held.values())


def kept_days(forecast: Forecast, zone: tzinfo) -> list[KeptDay]:
    """The days of an issue that say anything of Tmin or Tmax."""
    issued_on = forecast.issued.astimezone(zone).date().toordinal()
    columns = [getattr(forecast, name).tolist() for name in VALUES]
    rows = [
        KeptDay(issued_on, forecast.first_day + place, *values)
        for place, values in enumerate(zip(*columns, strict=True))
    ]
    return [row for row in rows if row.tmin_c == row.tmin_c or row.tmax_c == row.tmax_c]


def write_asked(store: Path, asked: LastAsked) -> None:
    """Remember what was asked. OSError."""
    replace_text(store / FORECAST_FOLDER / ASKED_FILE, json.dumps(asdict(asked), indent=1) + "\n")
