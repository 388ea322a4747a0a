"""The collection's own store of fetched weather, read: one CSV a station, and which one is the nearest."""

import json
import re
from datetime import date
from pathlib import Path

import numpy as np

from care_planner.climate.read_weather import read_text
from care_planner.climate.station import STATION_COLUMNS, Station
from care_planner.climate.weather_checks import drop_impossible
from care_planner.climate.weather_table import parse_table

NEAREST_FILE = "nearest.json"
# A site that moved less than this (degrees, about 1 km) keeps its nearest station.
SAME_PLACE_DEG = 0.01
_STATION_ID = re.compile(r"[A-Za-z0-9]{1,16}")


def is_station_id(text: str) -> bool:
    """Whether a text can be a station's id, and so the name of its file."""
    return _STATION_ID.fullmatch(text) is not None


def read_nearest(store: Path, latitude: float, longitude: float) -> str | None:
    """The station found nearest to this place (degrees) when it was last looked up, if it was."""
    found = _nearest(store)
    station, near = found.get("station"), [found.get("latitude"), found.get("longitude")]
    if not isinstance(station, str) or not all(isinstance(value, (int, float)) for value in near):
        return None
    apart = np.abs(np.array(near, dtype=np.float64) - [latitude, longitude]).max()
    return station if apart <= SAME_PLACE_DEG and is_station_id(station) else None


def read_station(store: Path, station: str) -> Station | None:
    """A stored station; None if there is none or its file cannot be read. Damaged rows are passed over."""
    if not is_station_id(station):
        return None
    text, _ = read_text(store / f"{station}.csv", station)
    table = parse_table(text, station)[0] if text else None
    if text is None or table is None or "tmin_c" not in table.columns:
        return None
    # What is no number is nan already; here go rows without a date and rows out of order.
    good = np.diff(np.maximum.accumulate(table.days), prepend=0) > 0
    empty = np.full(int(good.sum()), np.nan)
    cells = {name: table.columns[name][good] if name in table.columns else empty for name in STATION_COLUMNS}
    columns, _ = drop_impossible(cells)
    said = dict(re.findall(r"^# ([a-z ]+): (.*)$", text, flags=re.MULTILINE))
    again = tuple(int(year) for year in said.get("years to fetch again", "").split() if year.isdecimal())
    name, attribution = said.get("name", ""), said.get("data from", "")
    fetched_on = _ordinal(said.get("fetched", ""))
    return Station(station, name, table.days[good], columns, fetched_on, again, attribution)


def _nearest(store: Path) -> dict[str, object]:
    try:
        found = json.loads((store / NEAREST_FILE).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}


def _ordinal(text: str) -> int:
    try:
        return date.fromisoformat(text.strip()).toordinal()
    except ValueError:
        return 0
