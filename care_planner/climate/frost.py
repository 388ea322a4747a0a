"""First and last nights at or under a temperature, as an empirical distribution over seasons.

Nights are split into years at midsummer of the site's own hemisphere, so that one winter is one year of
nights. A year of nights without such a night counts as one: `NEVER`.
"""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from care_planner.climate.gaps import Floats, fill_short_gaps
from care_planner.climate.weather_years import MOST_MISSING_DAYS
from care_planner.spans import HALF_YEAR_DAYS, NEVER, season_of, season_start

Which = Literal["first", "last"]


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
