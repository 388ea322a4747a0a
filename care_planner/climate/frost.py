"""First and last nights at or under a temperature, as an empirical distribution over seasons.

Nights are split into years at midsummer of the site's own hemisphere, so that one winter is one year of
nights. A year of nights without such a night counts as one: `NEVER`.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from care_planner.climate.benches import BenchAir, on_bench
from care_planner.climate.gaps import Floats, fill_short_gaps
from care_planner.climate.record import WeatherRecord
from care_planner.climate.weather_years import MOST_MISSING_DAYS
from care_planner.spans import HALF_YEAR_DAYS, NEVER, season_of, season_start

Which = Literal["first", "last"]
FROST_LIMITS_C = (0.0, 3.0)
FROST_CHANCES = (0.1, 0.5, 0.9)


@dataclass(frozen=True, eq=False)
class NightSeasons:
    """One night for each year of nights.

    years: the season the night belongs to: for first nights the season whose autumn it is, for last nights
    the season whose spring it is. day_offsets: [years], days from the midwinter between the two (negative
    before it), NEVER for a winter without such a night. left_out: seasons with too many missing days.
    """

    years: tuple[int, ...]
    day_offsets: Floats
    which: Which
    left_out: tuple[int, ...]


@dataclass(frozen=True)
class FrostRow:
    """First or last nights at or under `at_most_c` on one bench; `offsets` at `FROST_CHANCES`, in that order.

    seasons_with: how many of `seasons` had such a night at all. The offsets are days from midwinter.
    """

    bench: str
    which: Which
    at_most_c: float
    offsets: tuple[float, ...]
    seasons: tuple[int, ...]
    seasons_with: int
    left_out: tuple[int, ...]


def night_seasons(
    first_day: int, tmin_c: Floats, south: bool, at_most_c: float, which: Which
) -> NightSeasons:
    """The first or last night at or under `at_most_c` in each winter of a record's Tmin ([days], degC).

    Short gaps are filled first. A winter is left out when more than 10 days are missing in the half that
    matters (midsummer to midwinter for the first night, midwinter to midsummer for the last), or, where
    that half has no such night, in the other half.
    """
    tmin, _ = fill_short_gaps(tmin_c)
    years, offsets, left_out = [], [], []
    end_day = first_day + len(tmin)
    for season in range(season_of(first_day, south) - 1, season_of(end_day - 1, south) + 1):
        midwinter = season_start(season + 1, south)
        before = _cut(tmin, first_day, season_start(season, south) + HALF_YEAR_DAYS, midwinter)
        after = _cut(tmin, first_day, midwinter, midwinter + HALF_YEAR_DAYS)
        if np.isnan(before if which == "first" else after).all():
            continue
        label = season if which == "first" else season + 1
        offset = _night(before, after, at_most_c, which)
        if math.isnan(offset):
            left_out.append(label)
        else:
            years.append(label)
            offsets.append(offset)
    return NightSeasons(tuple(years), np.array(offsets), which, tuple(left_out))


def percentile_day(offsets: Floats, chance: float, *, which: Which) -> float:
    """The day (as the offsets count) of a chance between 0 and 1, by NOAA's definition; NEVER if none is.

    first: the earliest day with at least this chance that the first night falls on it or earlier.
    last: the latest day with at least this chance that the last night falls on it or later.
    Source: readme of NOAA's 1981-2010 supplemental normals (prbfst, prblst). NOAA smooths; this is the plain
    share of seasons, in which those without such a night count. ValueError without any season.
    """
    if not 0 < chance <= 1:
        raise ValueError(f"a chance lies above 0 and at most at 1, not {chance:g}")
    if not len(offsets):
        raise ValueError("no season to take a chance from")
    needed = math.ceil(chance * len(offsets) - 1e-9)
    happened = np.sort(offsets[np.isfinite(offsets)])
    if needed > len(happened):
        return NEVER
    return float(happened[needed - 1] if which == "first" else happened[-needed])


def frost_table(record: WeatherRecord, south: bool, benches: Mapping[str, BenchAir]) -> tuple[FrostRow, ...]:
    """Last and first nights at or under 0 and 3 degC on each bench, in the order of the benches.

    Offsets are NEVER where the chance is not reached, and empty where the record holds no whole half-season.
    """
    rows = []
    for name, air in benches.items():
        tmin, _ = on_bench(
            record.tmin_c, record.tmax_c, offset_c=air.offset_c, floor_c=air.floor_c, vent_c=air.vent_c
        )
        for which in ("last", "first"):
            for at_most_c in FROST_LIMITS_C:
                nights = night_seasons(record.first_day, tmin, south, at_most_c, which)
                rows.append(_row(name, at_most_c, nights))
    return tuple(rows)


def night_date(offset: float, south: bool) -> date | None:
    """An offset from midwinter as a day of a common year, to print its month and day; None for NEVER."""
    if math.isinf(offset):
        return None
    return date.fromordinal(season_start(2002, south)) + timedelta(days=int(offset))


def _row(bench: str, at_most_c: float, nights: NightSeasons) -> FrostRow:
    offsets: tuple[float, ...] = ()
    if nights.years:
        offsets = tuple(
            percentile_day(nights.day_offsets, chance, which=nights.which) for chance in FROST_CHANCES
        )
    seasons_with = int(np.isfinite(nights.day_offsets).sum())
    return FrostRow(bench, nights.which, at_most_c, offsets, nights.years, seasons_with, nights.left_out)


def _cut(tmin: Floats, first_day: int, start: int, end: int) -> Floats:
    """Tmin of `start` (in) to `end` (out), nan outside the record."""
    days = np.arange(start, end) - first_day
    inside = (days >= 0) & (days < len(tmin))
    return np.where(inside, tmin[np.clip(days, 0, len(tmin) - 1)], np.nan)


def _night(before: Floats, after: Floats, at_most_c: float, which: Which) -> float:
    """The offset of one winter's night; nan where too many days are missing to say."""
    near, other = (before, after) if which == "first" else (after, before)
    for half in (near, other):
        if np.isnan(half).sum() > MOST_MISSING_DAYS:
            return math.nan
        cold: NDArray[np.int64] = np.flatnonzero(half <= at_most_c)
        if len(cold):
            place = int(cold[0] if which == "first" else cold[-1])
            return float(place - len(before) if half is before else place)
    return NEVER
