"""A fetched station: its days as they came, what was fetched when, and how new days join the old ones."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from care_planner.climate.gaps import Floats
from care_planner.climate.record import WeatherRecord, daily_record

STATION_COLUMNS = (
    "tmin_c",
    "tmax_c",
    "tmean_c",
    "precip_mm",
    "rh_mean_pct",
    "wind_m_s",
    "sunshine_h",
)


@dataclass(frozen=True, eq=False)
class Station:
    """A station's fetched days.

    days: [rows] ordinals, rising. columns: `STATION_COLUMNS`, [rows], nan = missing. fetched_on: ordinal.
    years_again: years whose file could not be fetched. attribution: whom the licence asks to name.
    """

    id: str
    name: str
    days: NDArray[np.int64]
    columns: Mapping[str, Floats]
    fetched_on: int = 0
    years_again: tuple[int, ...] = ()
    attribution: str = ""
    dropped_days: int = 0

    @property
    def known_days(self) -> int:
        """Days with both Tmin and Tmax."""
        return int(np.isfinite(self.columns["tmin_c"] + self.columns["tmax_c"]).sum())

    @property
    def title(self) -> str:
        """The id, with the name where it is known."""
        return f"{self.id} {self.name}".strip()


def merge_station(old: Station, new: Station) -> Station:
    """The new days over the old: a new value wins, and no value that was there is lost."""
    days = np.union1d(old.days, new.days)
    columns = {}
    for name in STATION_COLUMNS:
        merged = np.full(len(days), np.nan)
        for part in (old, new):
            values = part.columns[name]
            known = np.isfinite(values)
            merged[np.searchsorted(days, part.days[known])] = values[known]
        columns[name] = merged
    names = sorted({name for part in (old, new) for name in part.attribution.split(", ") if name})
    return replace(
        new,
        days=days,
        columns=columns,
        attribution=", ".join(names),
        name=new.name or old.name,
        dropped_days=old.dropped_days + new.dropped_days,
    )


def station_record(station: Station) -> WeatherRecord | None:
    """The station's days as a weather record; None without a day that has Tmin and Tmax."""
    known = np.flatnonzero(np.isfinite(station.columns["tmin_c"] + station.columns["tmax_c"]))
    if not len(known):
        return None
    held = slice(known[0], known[-1] + 1)
    columns = {
        name: values[held]
        for name, values in station.columns.items()
        if name in ("tmin_c", "tmax_c") or np.isfinite(values).any()
    }
    return daily_record(station.days[held], columns, f"station {station.title}, Meteostat")
