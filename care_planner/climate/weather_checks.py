"""What cannot be true of daily weather: days out of order, impossible values, the wrong unit."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from care_planner.climate.gaps import Floats
from care_planner.climate.weather_table import FAHRENHEIT, WeatherTable
from care_planner.problems import Problem

# Lowest and highest value a day may have. Temperatures: the records of the surface network are -89.2 degC
# (Vostok) and 56.7 degC (Death Valley), World Meteorological Organization, from memory; the rest are wide
# bounds of ours.
LIMITS: Mapping[str, tuple[float, float, str]] = {
    "tmin_c": (-90, 60, "degC"),
    "tmax_c": (-90, 60, "degC"),
    "tmean_c": (-90, 60, "degC"),
    "tmin_f": (-130, 140, "degF"),
    "tmax_f": (-130, 140, "degF"),
    "precip_mm": (0, 2000, "mm"),
    "rh_mean_pct": (0, 100, "%"),
    "wind_m_s": (0, 120, "m/s"),
    "sunshine_h": (0, 24, "h"),
    "solar_mj_m2": (0, 50, "MJ/m2"),
}
# No place has a month whose mean Tmax or mean Tmin is warmer than this (degC; the hottest are near 49 and
# 35, in January near 41: from memory), so a column that says so holds degF.
_WARMEST_TMAX, _WARMEST_TMAX_DECEMBER_TO_FEBRUARY, _WARMEST_TMIN = 50.0, 45.0, 37.0
# Trees in pots are not grown where the warmest month's mean Tmax is under this (degF; 7 degC, a bound of
# ours): a column of degF that says so, over at least this many days, holds degC.
_COLDEST_TMAX_F, _COLDEST_DAYS = 45.0, 300
_DAYS_FOR_A_MONTH = 5


def order_problems(table: WeatherTable, file: str) -> list[Problem]:
    """Days given again, and days earlier than the row before."""
    problems = []
    known = table.days > 0
    days, lines = table.days[known], table.lines[known]
    unique, first_place = np.unique(days, return_index=True)
    again = np.ones(len(days), dtype=np.bool_)
    again[first_place] = False
    for place in np.flatnonzero(again):
        first_line = lines[first_place[np.searchsorted(unique, days[place])]]
        problems.append(
            Problem(file, int(lines[place]), f"this day stands already on line {first_line}", "allowed: once")
        )
    for place in np.flatnonzero(np.diff(days) < 0) + 1:
        if not again[place]:
            what = "this day is before the one above it"
            problems.append(Problem(file, int(lines[place]), what, "allowed: days in order, oldest first"))
    return problems


def value_problems(table: WeatherTable, file: str) -> list[Problem]:
    """Values outside `LIMITS`, and Tmin above Tmax, by line."""
    problems = []
    for name, values in table.columns.items():
        low, high, unit = LIMITS[name]
        for place in np.flatnonzero((values < low) | (values > high)):
            what = f"{name} is {values[place]:g}, which cannot be"
            allowed = f"allowed: {low:g} to {high:g} {unit}, or an empty cell where the day is missing"
            problems.append(Problem(file, int(table.lines[place]), what, allowed))
    low_name, high_name = table.temperature_names
    tmin, tmax = table.columns[low_name], table.columns[high_name]
    for place in np.flatnonzero(tmin > tmax):
        what = f"{low_name} {tmin[place]:g} is above {high_name} {tmax[place]:g}"
        problems.append(Problem(file, int(table.lines[place]), what, "allowed: Tmin at or under Tmax"))
    return problems


def drop_impossible(columns: Mapping[str, Floats]) -> tuple[dict[str, Floats], int]:
    """Fetched columns (names of `LIMITS`, [days]) with what cannot be made nan, and on how many days.

    A Tmin above its Tmax voids both, for nobody can say which is wrong.
    """
    dropped = np.zeros(len(columns["tmin_c"]), dtype=np.bool_)
    kept = {}
    crossed = columns["tmin_c"] > columns["tmax_c"]
    for name, values in columns.items():
        low, high, _ = LIMITS[name]
        wrong = (values < low) | (values > high)
        if name in ("tmin_c", "tmax_c"):
            wrong |= crossed
        kept[name] = np.where(wrong, np.nan, values)
        dropped |= wrong
    return kept, int(dropped.sum())


def unit_problem(table: WeatherTable, file: str) -> Problem | None:
    """A column that plainly holds the other temperature unit than its name says."""
    known = table.days > 0
    low_name, high_name = table.temperature_names
    months = _months(table.days[known])
    tmin, tmax = table.columns[low_name][known], table.columns[high_name][known]
    if low_name in FAHRENHEIT:
        return _celsius_as_fahrenheit(months, tmax, Problem(file, table.header_line, high_name))
    for month in range(1, 13):
        winter_half = month in (12, 1, 2)
        warmest_tmax = _WARMEST_TMAX_DECEMBER_TO_FEBRUARY if winter_half else _WARMEST_TMAX
        for column, values, limit in ((high_name, tmax, warmest_tmax), (low_name, tmin, _WARMEST_TMIN)):
            mean = _month_mean(months, values, month)
            if mean > limit:
                what = f"{column} plainly holds degF: its mean over month {month} is {mean:.1f}"
                return Problem(
                    file, table.header_line, what, "allowed: degC, or columns named tmin_f and tmax_f"
                )
    return None


def _celsius_as_fahrenheit(months: NDArray[np.int64], tmax: Floats, at: Problem) -> Problem | None:
    if np.isfinite(tmax).sum() < _COLDEST_DAYS:
        return None
    warmest = np.nanmax([_month_mean(months, tmax, month) for month in range(1, 13)])
    if warmest >= _COLDEST_TMAX_F:
        return None
    what = f"{at.what} plainly holds degC: the mean of its warmest month is {warmest:.1f}"
    return Problem(at.file, at.line, what, "allowed: degF, or columns named tmin_c and tmax_c")


def _month_mean(months: NDArray[np.int64], values: Floats, month: int) -> float:
    """The mean over a calendar month, all years together; nan with too few days."""
    chosen = values[(months == month) & np.isfinite(values)]
    return float(chosen.mean()) if len(chosen) >= _DAYS_FOR_A_MONTH else np.nan


def _months(days: NDArray[np.int64]) -> NDArray[np.int64]:
    """The calendar months (1 to 12) of ordinals."""
    since_1970 = (days - 719163).astype("datetime64[D]").astype("datetime64[M]").astype(np.int64)
    months: NDArray[np.int64] = since_1970 % 12 + 1
    return months
