"""The collection's own store of fetched weather, written: each file whole or not at all."""

import json
import math
from datetime import date
from pathlib import Path

from care_planner.climate.read_store import NEAREST_FILE
from care_planner.climate.station import STATION_COLUMNS, Station
from care_planner.disk.write_whole import write_whole


def write_station(store: Path, station: Station) -> None:
    """The station's file in the store, replaced atomically. OSError where the disk refuses."""
    _replace(store / f"{station.id}.csv", station_text(station))


def write_nearest(store: Path, latitude: float, longitude: float, station: str) -> None:
    """Which station was found nearest to the place (degrees). OSError where the disk refuses."""
    found = {"latitude": latitude, "longitude": longitude, "station": station}
    _replace(store / NEAREST_FILE, json.dumps(found, indent=1) + "\n")


def station_text(station: Station) -> str:
    """The station as a weather CSV with its source and licence in comments above the header."""
    lines = [
        f"# Daily weather of station {station.id}",
        f"# name: {station.name}",
        "# source: Meteostat (https://meteostat.net), Creative Commons Attribution 4.0 International",
        f"# data from: {station.attribution}",
        f"# fetched: {date.fromordinal(station.fetched_on).isoformat()}",
        f"# years to fetch again: {' '.join(map(str, station.years_again))}".rstrip(),
        ",".join(("date", *STATION_COLUMNS)),
    ]
    rows = zip(
        station.days.tolist(), *(station.columns[name].tolist() for name in STATION_COLUMNS), strict=True
    )
    for day, *values in rows:
        lines.append(",".join([date.fromordinal(day).isoformat(), *map(_cell, values)]))
    return "\n".join(lines) + "\n"


def _cell(value: float) -> str:
    return "" if math.isnan(value) else f"{round(value, 2):g}"


def _replace(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, text.encode())
