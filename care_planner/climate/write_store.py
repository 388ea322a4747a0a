"""The collection's own store of fetched weather, written: each file whole or not at all."""

import json
import math
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from care_planner.climate.gaps import Floats
from care_planner.climate.read_store import NEAREST_FILE
from care_planner.climate.station import STATION_COLUMNS, Station
from care_planner.disk.write_whole import write_whole


def write_station(store: Path, station: Station) -> None:
    """The station's file in the store, replaced atomically. OSError where the disk refuses."""
    replace_text(store / f"{station.id}.csv", station_text(station))


def write_nearest(store: Path, latitude: float, longitude: float, station: str) -> None:
    """Which station was found nearest to the place (degrees). OSError where the disk refuses."""
    found = {"latitude": latitude, "longitude": longitude, "station": station}
    replace_text(store / NEAREST_FILE, json.dumps(found, indent=1) + "\n")


def station_text(station: Station) -> str:
    """The station as a weather CSV with its source and licence in comments above the header."""
    lines = [
        f"# Daily weather of station {station.id}",
        f"# name: {station.name}",
        "# source: Meteostat (https://meteostat.net), Creative Commons Attribution 4.0 International",
        f"# data from: {station.attribution}",
        f"# fetched: {date.fromordinal(station.fetched_on).isoformat()}",
        f"# years to fetch again: {' '.join(map(str, station.years_again))}".rstrip(),
        *days_text(station.days, station.columns, STATION_COLUMNS),
    ]
    return "\n".join(lines) + "\n"


def days_text(days: NDArray[np.int64], columns: Mapping[str, Floats], names: Sequence[str]) -> list[str]:
    """The header and the rows of a weather CSV: `days` ([rows] ordinals) and the named columns ([rows])."""
    lines = [",".join(("date", *names))]
    for day, *values in zip(days.tolist(), *(columns[name].tolist() for name in names), strict=True):
        lines.append(",".join([date.fromordinal(day).isoformat(), *map(_cell, values)]))
    return lines


def _cell(value: float) -> str:
    return "" if math.isnan(value) else f"{round(value, 2):g}"


def replace_text(path: Path, text: str) -> None:
    """A file replaced in one step, whole or not at all; folders are made. OSError where the disk refuses."""
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, text.encode())
