"""How often it rains on a day of the year, by the record."""

from datetime import date

import numpy as np

from care_planner.climate.gaps import Floats
from care_planner.climate.record import WeatherRecord

# A wet day has 1 mm or more (the usual limit of climatologies; WMO-No. 1203, 2017).
WET_MM = 1.0
# Days of the year so far on either side count with it: fewer make the share jump from day to day.
AROUND_DAYS = 15
DAYS_OF_YEAR = 366


def wet_shares(record: WeatherRecord, first_day: int, days: int) -> Floats:
    """Shares of wet days (0 to 1) for `days` days from `first_day` (an ordinal) on; 0 where the record holds
    no rain."""
    fallen = record.others.get("precip_mm")
    if fallen is None:
        return np.zeros(days)
    known = np.flatnonzero(~np.isnan(fallen))
    of_year = np.array([_place(record.first_day + int(day)) for day in known], dtype=np.int64)
    wet = np.bincount(of_year, weights=fallen[known] >= WET_MM, minlength=DAYS_OF_YEAR)
    counted = np.bincount(of_year, minlength=DAYS_OF_YEAR)
    around = range(-AROUND_DAYS, AROUND_DAYS + 1)
    wet_around = sum(np.roll(wet, shift) for shift in around)
    counted_around = sum(np.roll(counted, shift) for shift in around)
    shares = wet_around / np.maximum(counted_around, 1)
    found: Floats = shares[[_place(day) for day in range(first_day, first_day + days)]]
    return found


def _place(day: int) -> int:
    """The place of a day in a leap year, so that a date has the same in every year."""
    found = date.fromordinal(day)
    return date(2000, found.month, found.day).timetuple().tm_yday - 1
