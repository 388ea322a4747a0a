"""Day length against sunrise tables and at the poles."""

from datetime import date

import numpy as np
import pytest

from care_planner.climate.day_length import day_length_h

# Sunrise and sunset of the United States Naval Observatory as third parties quote them; latitudes of the
# cities from memory. The year of the 29 May pair is not given there; it makes no difference.
SUNRISE_TABLES = [
    ("Seattle", 47.61, date(2009, 6, 20), "05:11", "21:11"),
    ("Ann Arbor", 42.28, date(2009, 6, 20), "05:59", "21:15"),
    ("Philadelphia", 39.95, date(2009, 6, 20), "05:32", "20:33"),
    ("Seattle", 47.61, date(2006, 12, 22), "07:55", "16:22"),
    ("San Francisco", 37.77, date(2006, 12, 22), "07:21", "16:54"),
    ("Boston", 42.36, date(2006, 12, 22), "07:10", "16:15"),
    ("New York", 40.71, date(2006, 12, 22), "07:17", "16:31"),
    ("London", 51.51, date(2006, 12, 22), "08:03", "15:53"),
    ("Ottawa", 45.42, date(2006, 12, 22), "07:39", "16:23"),
    ("Anchorage", 61.22, date(2006, 12, 22), "10:14", "15:41"),
    ("Seattle", 47.61, date(2009, 5, 29), "05:17", "20:57"),
]


def hours(clock: str) -> float:
    hour, minute = clock.split(":")
    return int(hour) + int(minute) / 60


def ordinals(*days: date) -> np.ndarray:
    return np.array([day.toordinal() for day in days], dtype=np.int64)


@pytest.mark.parametrize(("place", "latitude", "day", "sunrise", "sunset"), SUNRISE_TABLES)
def test_reference_sunrise_tables_within_5_minutes(place, latitude, day, sunrise, sunset):
    computed = day_length_h(latitude, ordinals(day))[0]
    assert abs(computed - (hours(sunset) - hours(sunrise))) <= 5 / 60, place


def test_reference_fao_56_example_9():
    # FAO-56, example 9: 11.7 h on 3 September at 20 degrees south, without refraction and the sun's rim.
    computed = day_length_h(-20.0, ordinals(date(1998, 9, 3)), sunrise_deg=0)[0]
    assert abs(computed - 11.7) <= 0.1


def test_regression_of_the_model_itself():
    # Computed from the published formula for days 80, 172, 266 and 355 of a year, latitude 40.
    days = ordinals(date(2021, 3, 21), date(2021, 6, 21), date(2021, 9, 23), date(2021, 12, 21))
    np.testing.assert_allclose(day_length_h(40.0, days), [12.136, 15.016, 12.174, 9.324], atol=0.001)


def test_the_sun_stays_up_or_down_beyond_the_polar_circles():
    solstices = ordinals(date(2021, 6, 21), date(2021, 12, 21))
    for latitude in (70.0, 90.0):
        assert day_length_h(latitude, solstices).tolist() == [24, 0]
        assert day_length_h(-latitude, solstices).tolist() == [0, 24]


def test_the_equator_has_equal_days_and_the_south_the_days_of_the_north_half_a_year_later():
    year = np.arange(date(2021, 1, 1).toordinal(), date(2022, 1, 1).toordinal())
    assert np.ptp(day_length_h(0.0, year)) < 0.02
    north = day_length_h(37.75, year)
    south = day_length_h(-37.75, year + 182)
    assert np.abs(north - south).max() < 0.25
    assert abs(int(north.argmax()) - 171) <= 2


def test_the_shape_is_kept():
    days = ordinals(date(2021, 3, 1), date(2024, 2, 29)).reshape(2, 1)
    assert day_length_h(50.0, days).shape == (2, 1)
