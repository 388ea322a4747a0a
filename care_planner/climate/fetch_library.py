"""The meteostat library made safe for a plan, and its days in our names and units.

What the library (2.1.5) does that a plan cannot live with, and what is done here about it:
- without network its `daily` can return an empty series and no error: its log is listened to, so that a year
  that was not answered is known;
- its own switch against forecast days drops a row whose source is a model's, but not one that a model only
  helped to make (`dwd_poi dwd_mosmix`): the sources of each day are looked at here, too;
- a failed refresh empties its cache: that cache is off;
- a dead network keeps it retrying, and its CSV requests have no time limit: both are cut short;
- its import takes a third of a second: it is imported where it is used.
"""

import logging
import re
import socket
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from care_planner.climate.gaps import Floats
from care_planner.climate.station import STATION_COLUMNS, Station
from care_planner.climate.weather_checks import drop_impossible

_TIMEOUT_S = 20
_RETRIES = 1
# Sources that are forecasts: a day with a part of one never becomes record.
FORECASTS = ("mosmix", "forecast")
# Stands in the set of failed years for a failure that names no year.
SOME_YEAR = 0

# The library's names and units (km/h, minutes) -> ours.
_COLUMNS = {
    "tmin_c": ("tmin", 1.0),
    "tmax_c": ("tmax", 1.0),
    "tmean_c": ("temp", 1.0),
    "precip_mm": ("prcp", 1.0),
    "rh_mean_pct": ("rhum", 1.0),
    "wind_m_s": ("wspd", 1 / 3.6),
    "sunshine_h": ("tsun", 1 / 60),
}


def nothing_yet(station: str, name: str) -> Station:
    """A station of which nothing is known but its id and its name."""
    none = {column: np.empty(0) for column in STATION_COLUMNS}
    return Station(station, " ".join(name.split()), np.empty(0, dtype=np.int64), none)


def fetch_days(library: Any, station: Station, start: date, end: date) -> Station:
    """What the service holds of a station from `start` to `end`, both in, at most 30 years apart.

    Values that cannot be are dropped and counted.
    """
    series = library.daily(library.Station(id=station.id, name=station.name), start, end)
    # Uncleaned: what cannot be is to be counted, and the library drops it without a word.
    frame = series.fetch(clean=False, sources=True)
    frame = _measured(frame) if frame is not None else None
    if frame is None or frame.empty:
        return nothing_yet(station.id, station.name)
    days = np.array([moment.toordinal() for moment in frame.index], dtype=np.int64)
    columns = {name: _numbers(frame, theirs, factor) for name, (theirs, factor) in _COLUMNS.items()}
    kept, dropped = drop_impossible(columns)
    owners = {licence.attribution for licence in series.licenses if licence.attribution}
    return Station(
        station.id, station.name, days, kept, attribution=", ".join(sorted(owners)), dropped_days=dropped
    )


def _measured(frame: Any) -> Any:
    """The days whose temperatures no forecast had a part in."""
    of_model = np.zeros(len(frame), dtype=np.bool_)
    for column in ("tmin", "tmax", "temp"):
        if f"{column}_source" in frame:
            sources = frame[f"{column}_source"].fillna("").astype(str)
            of_model |= sources.str.contains("|".join(FORECASTS), regex=True).to_numpy(dtype=bool)
    return frame[~of_model]


def _numbers(frame: Any, column: str, factor: float) -> Floats:
    """A column as numbers; a text is infinite, so that it counts among what cannot be."""
    import pandas

    if column not in frame:
        return np.full(len(frame), np.nan)
    cells = pandas.to_numeric(frame[column], errors="coerce").astype("Float64")
    values: Floats = cells.to_numpy(dtype=np.float64, na_value=np.nan) * factor
    return np.where(np.isnan(values) & frame[column].notna().to_numpy(dtype=bool), np.inf, values)


@contextmanager
def meteostat_library() -> Iterator[tuple[Any, set[int]]]:
    """The library, made safe; and the years it fails to fetch, filled in as it logs them."""
    import meteostat

    failed: set[int] = set()
    listener = _FailedYears(failed)
    logger = logging.getLogger("meteostat")
    config, propagated, timeout = meteostat.config, logger.propagate, socket.getdefaulttimeout()
    with tempfile.TemporaryDirectory() as scratch, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        # Its cache and its copy of the list of stations must not touch the home folder.
        ours = {
            "cache_enable": False,
            "cache_directory": scratch,
            "stations_db_file": str(Path(scratch) / "stations.db"),
            "network_max_retries": _RETRIES,
            "network_timeout": _TIMEOUT_S,
            "include_model_data": False,
        }
        theirs = {name: getattr(config, name) for name in ours}
        for name, value in ours.items():
            setattr(config, name, value)
        logger.addHandler(listener)
        logger.propagate = False
        socket.setdefaulttimeout(_TIMEOUT_S)
        try:
            yield meteostat, failed
        finally:
            socket.setdefaulttimeout(timeout)
            logger.propagate = propagated
            logger.removeHandler(listener)
            for name, value in theirs.items():
                setattr(config, name, value)


class _FailedYears(logging.Handler):
    """Collects the years of the library's warnings; a year without a file (404) is only logged as info."""

    def __init__(self, failed: set[int]) -> None:
        super().__init__(logging.WARNING)
        self.failed = failed

    def emit(self, record: logging.LogRecord) -> None:
        named = re.search(r'year "(\d{4})"', record.getMessage())
        self.failed.add(int(named[1]) if named else SOME_YEAR)
