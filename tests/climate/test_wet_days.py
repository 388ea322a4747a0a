"""How often it rains on a day of the year, counted by hand."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from small_world import smooth_record

from care_planner.climate.wet_days import wet_shares


def test_shares_are_of_the_days_around_and_heed_gaps() -> None:
    record = smooth_record()
    days = [date.fromordinal(record.first_day + place) for place in range(len(record.tmin_c))]
    fallen = np.array([1.0 if day.month == 7 and day.day % 2 else 0.9 for day in days])
    fallen[[day.year == 2005 for day in days]] = np.nan  # a year without a gauge
    july, january = date(2021, 7, 16), date(2021, 1, 10)
    wet = replace(record, others={"precip_mm": fallen})
    # 1 to 31 July lie within 15 days of the 16th, 16 of the 31 are odd.
    assert wet_shares(wet, july.toordinal(), 1)[0] == pytest.approx(16 / 31, abs=0.01)
    assert wet_shares(wet, january.toordinal(), 3).tolist() == [0.0, 0.0, 0.0]


def test_without_rain_in_the_record_no_day_is_wet() -> None:
    assert not wet_shares(smooth_record(), date(2021, 7, 1).toordinal(), 40).any()
