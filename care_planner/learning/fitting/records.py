"""Records of many stations, as read, and laid out as seasons x days."""

from calendar import isleap
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from care_planner.climate.day_length import day_length_h
from care_planner.climate.gaps import fill_short_gaps
from care_planner.learning.fitting.spec import Season
from care_planner.stages.reach import Floats

# A season's columns begin on this day: of the year before it for what comes in winter and spring.
ORIGIN: dict[Season, tuple[int, int]] = {"spring": (7, 1), "winter": (7, 1), "autumn": (3, 1)}
COLUMNS = 396
_LEAP = 2024  # a leap year; the one before it is common


@dataclass(frozen=True, eq=False)
class StationDays:
    """Daily temperatures (degC, nan where missing) of one station from `first_day` (ordinal) on."""

    first_day: int
    tmin_c: Floats
    tmax_c: Floats


@dataclass(frozen=True, eq=False)
class Records:
    """What was noted and measured. `noted`: the day (ordinal) by station, season and event."""

    noted: Mapping[tuple[str, int, str], int]
    weather: Mapping[str, StationDays]
    latitudes: Mapping[str, float]  # degrees; empty where no file of stations was given


@dataclass(frozen=True, eq=False)
class Seasons:
    """Station seasons [n], their weather [n, COLUMNS] from `ORIGIN` on, days of events [n] (nan: none)."""

    season: Season
    stations: tuple[str, ...]
    years: NDArray[np.int64]
    tmin: Floats
    tmax: Floats
    day_length: Floats | None  # hours; None where latitudes are not known
    days: Mapping[str, Floats]

    def __len__(self) -> int:
        return len(self.stations)

    def rows(self, keep: NDArray[np.bool_]) -> "Seasons":
        """Some of the rows."""
        return Seasons(
            self.season,
            tuple(name for name, kept in zip(self.stations, keep, strict=True) if kept),
            self.years[keep],
            self.tmin[keep],
            self.tmax[keep],
            None if self.day_length is None else self.day_length[keep],
            {event: values[keep] for event, values in self.days.items()},
        )

    def of(self, stations: Iterable[str]) -> "Seasons":
        """The rows of some stations."""
        wanted = set(stations)
        return self.rows(np.array([name in wanted for name in self.stations], dtype=np.bool_))

    def first_ordinals(self) -> NDArray[np.int64]:
        """The ordinal of column 0 of each row."""
        return np.array([first_ordinal(self.season, int(year)) for year in self.years], dtype=np.int64)


def first_ordinal(season: Season, year: int) -> int:
    """The ordinal of column 0 in a season."""
    month, day = ORIGIN[season]
    return date(year if season == "autumn" else year - 1, month, day).toordinal()


def column_of(season: Season, month_day: str) -> int:
    """The column of a month-day, in a year that is no leap year."""
    month, day = (int(part) for part in month_day.split("-"))
    first = date(2023, *ORIGIN[season])
    year = 2023 if (month, day) >= ORIGIN[season] else 2024
    return (date(year, month, min(day, 28) if month == 2 else day) - first).days - (
        1 if year == _LEAP and month > 2 else 0
    )


def lay(records: Records, season: Season, events: Sequence[str]) -> Seasons:
    """Every season with a note of one of the events, at stations with weather, in the order of the names."""
    keys = sorted({(s, y) for s, y, e in records.noted if e in events and s in records.weather})
    tmin, tmax = np.full((2, len(keys), COLUMNS), np.nan)
    days = {event: np.full(len(keys), np.nan) for event in events}
    filled = {name: _filled(records.weather[name]) for name in sorted({s for s, _ in keys})}
    for i, (station, year) in enumerate(keys):
        first = first_ordinal(season, year)
        begin = first - records.weather[station].first_day
        for laid, values in zip((tmin, tmax), filled[station], strict=True):
            low, high = max(begin, 0), min(begin + COLUMNS, len(values))
            if low < high:
                laid[i, low - begin : high - begin] = values[low:high]
        for event in events:
            days[event][i] = records.noted.get((station, year, event), np.nan) - first
    years = np.array([year for _, year in keys], dtype=np.int64)
    names = tuple(station for station, _ in keys)
    hours = _day_lengths(season, names, years, records.latitudes) if records.latitudes else None
    return Seasons(season, names, years, tmin, tmax, hours, days)


def _filled(weather: StationDays) -> tuple[Floats, Floats]:
    return fill_short_gaps(weather.tmin_c)[0], fill_short_gaps(weather.tmax_c)[0]


def _day_lengths(
    season: Season, stations: Sequence[str], years: NDArray[np.int64], latitudes: Mapping[str, float]
) -> Floats:
    # A day's length is the same in every common year, and in every leap year, to a few seconds.
    found: dict[tuple[str, bool], Floats] = {}
    for key in sorted({(name, isleap(int(year))) for name, year in zip(stations, years, strict=True)}):
        span = first_ordinal(season, _LEAP if key[1] else _LEAP - 1) + np.arange(COLUMNS)
        found[key] = day_length_h(latitudes[key[0]], span)
    rows = [found[name, isleap(int(year))] for name, year in zip(stations, years, strict=True)]
    return np.array(rows).reshape(len(years), COLUMNS)
