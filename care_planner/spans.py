"""Days and seasons, in one place.

A day is its proleptic Gregorian ordinal (`date.toordinal()`), an int; arrays of days are float64,
with `NEVER` (inf) for "not reached" and `UNKNOWN` (nan) for "cannot be known". A span is start in,
end out. A season is named by the year in which its spring starts; it begins at midwinter: on
1 January north of the equator, half a year (182 days) later south of it.
"""

import math
from dataclasses import dataclass
from datetime import date

NEVER = math.inf
UNKNOWN = math.nan
HALF_YEAR_DAYS = 182
MEAN_YEAR_DAYS = 365.2425


@dataclass(frozen=True, order=True)
class Span:
    """Days from `start` (in) to `end` (out)."""

    start: int
    end: int

    def __len__(self) -> int:
        return max(0, self.end - self.start)

    def __contains__(self, day: int) -> bool:
        return self.start <= day < self.end


def is_south(latitude: float) -> bool:
    """Whether seasons at this latitude (degrees, north positive) run half a year later."""
    return latitude < 0


def season_start(season: int, south: bool) -> int:
    """First day of a season (midwinter)."""
    return date(season, 1, 1).toordinal() + (HALF_YEAR_DAYS if south else 0)


def season_of(day: int, south: bool) -> int:
    """The season a day lies in."""
    year = date.fromordinal(day).year
    return year if day >= season_start(year, south) else year - 1


def month_day(season: int, month: int, day: int, south: bool) -> int:
    """A month-day written for the north, in a season of either hemisphere.

    29 February falls on 28 February in common years.
    """
    if (month, day) == (2, 29):
        try:
            north = date(season, 2, 29)
        except ValueError:
            north = date(season, 2, 28)
    else:
        north = date(season, month, day)
    return north.toordinal() + (HALF_YEAR_DAYS if south else 0)


def monday_of(day: int) -> int:
    """The Monday (ordinal) of a day's week."""
    return day - date.fromordinal(day).weekday()
