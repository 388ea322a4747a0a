"""Past years laid over the stretch to be planned."""

from datetime import date
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from care_planner.climate.read_weather import read_weather_file
from care_planner.climate.record import WeatherRecord
from care_planner.climate.weather_years import lay_weather_years, usable_years
from care_planner.spans import season_of, season_start

DATA = Path(__file__).parents[1] / "data"


def numbered(first_day: int, end_day: int) -> WeatherRecord:
    """A record whose Tmin is the ordinal of its day, so that each laid day tells where it comes from."""
    tmin = np.arange(first_day, end_day, dtype=np.float64)
    return WeatherRecord(first_day, tmin, tmin + 8, tmin + 4)


def day(year: int, month: int, day_of_month: int) -> int:
    return date(year, month, day_of_month).toordinal()


def test_each_row_holds_its_season_and_the_ones_around_it():
    record = numbered(day(2000, 1, 1), day(2004, 1, 1))
    today = day(2026, 3, 1)
    laid = lay_weather_years(record, False, day(2025, 6, 1), day(2028, 7, 1), today)
    assert laid.labels == (2000, 2001, 2002, 2003)
    assert laid.tmin_c.shape == (4, day(2028, 7, 1) - day(2025, 6, 1))
    assert laid.left_out == ()
    assert laid.observed_until == laid.first_day == day(2025, 6, 1)

    def origin(row: int, planned: int) -> date:
        return date.fromordinal(int(laid.tmin_c[row, planned - laid.first_day]))

    # The row of 2001: 2000 in the season before, 2002 after, 2003 after that; round again for 2003.
    assert origin(1, day(2026, 3, 15)) == date(2001, 3, 15)
    assert origin(1, day(2025, 11, 3)) == date(2000, 11, 2)  # the 307th day: 2000 was a leap year
    assert origin(1, day(2027, 3, 15)) == date(2002, 3, 15)
    assert origin(1, day(2028, 1, 20)) == date(2003, 1, 20)
    assert origin(3, day(2027, 3, 15)) == date(2000, 3, 14)
    np.testing.assert_array_equal(laid.tmax_c, laid.tmin_c + 8)
    np.testing.assert_array_equal(laid.tmean_c, laid.tmin_c + 4)


def test_autumn_and_spring_of_one_row_belong_together():
    record = numbered(day(2001, 1, 1), day(2004, 1, 1))
    laid = lay_weather_years(record, False, day(2025, 1, 1), day(2026, 12, 1), day(2026, 5, 1))
    row = laid.labels.index(2002)
    winter = laid.tmin_c[row, day(2025, 10, 1) - laid.first_day : day(2026, 4, 1) - laid.first_day]
    assert (np.diff(winter) == 1).all()


def test_a_leap_seasons_last_day_is_the_next_day_of_the_record_or_the_last_again():
    record = numbered(day(2001, 1, 1), day(2003, 1, 1))
    laid = lay_weather_years(record, False, day(2028, 1, 1), day(2029, 1, 1), day(2028, 2, 1))
    assert laid.tmin_c.shape == (2, 366)
    assert laid.tmin_c[0, -1] == day(2002, 1, 1)
    assert laid.tmin_c[1, -1] == day(2002, 12, 31)


def test_the_south_lays_its_own_seasons():
    record = numbered(day(2001, 1, 1), day(2005, 1, 1))
    assert usable_years(record, True)[0] == [2001, 2002, 2003]
    laid = lay_weather_years(
        record, True, season_start(2026, True), season_start(2027, True), day(2026, 9, 1)
    )
    assert laid.tmin_c[0, 0] == season_start(2001, True)
    assert (np.diff(laid.tmin_c[0]) == 1).all()


def test_what_was_observed_replaces_the_same_days_in_every_row():
    record = numbered(day(2001, 1, 1), day(2026, 4, 11))
    today = day(2026, 4, 11)
    laid = lay_weather_years(record, False, day(2025, 1, 1), day(2027, 1, 1), today)
    assert laid.observed_until == today
    held = today - laid.first_day
    assert (laid.tmin_c[:, :held] == np.arange(day(2025, 1, 1), today)).all()
    assert len(set(laid.tmin_c[:, held])) == len(laid.labels)
    # The season under way is only in part in the record, so it is no weather year itself.
    assert laid.left_out == ((2026, "the record holds only part of it (265 days of 365 missing)"),)


def test_the_record_after_today_is_not_taken_as_observed():
    record = numbered(day(2001, 1, 1), day(2010, 1, 1))
    laid = lay_weather_years(record, False, day(2004, 1, 1), day(2006, 1, 1), day(2005, 3, 1))
    assert laid.observed_until == day(2005, 3, 1)
    march = laid.tmin_c[:, day(2005, 3, 5) - laid.first_day]
    assert len(set(march)) == len(laid.labels) == 9


def test_a_hole_in_what_was_observed_ends_it_but_later_days_are_laid_all_the_same():
    record = numbered(day(2001, 1, 1), day(2026, 4, 11))
    hole = slice(day(2026, 2, 1) - record.first_day, day(2026, 2, 8) - record.first_day)
    record.tmin_c[hole] = np.nan
    laid = lay_weather_years(record, False, day(2026, 1, 1), day(2027, 1, 1), day(2026, 4, 11))
    assert laid.observed_until == day(2026, 2, 1)
    assert laid.observed[day(2026, 2, 8) - laid.first_day]
    assert not laid.observed[day(2026, 2, 7) - laid.first_day]
    assert len(set(laid.tmin_c[:, day(2026, 2, 3) - laid.first_day])) == len(laid.labels)


def test_a_season_with_eleven_missing_days_is_told_and_one_half_missing_is_not_used():
    record = numbered(day(2001, 1, 1), day(2004, 1, 1))
    gap = day(2002, 5, 1) - record.first_day
    record.tmax_c[gap : gap + 10] = np.nan
    ten = lay_weather_years(record, False, day(2026, 1, 1), day(2027, 1, 1), day(2026, 1, 1))
    assert ten.labels == (2001, 2002, 2003)
    assert np.isnan(ten.tmax_c[1]).sum() == 10
    record.tmax_c[gap : gap + 11] = np.nan
    eleven = lay_weather_years(record, False, day(2026, 1, 1), day(2028, 1, 1), day(2026, 1, 1))
    assert eleven.labels == (2001, 2002, 2003)
    assert eleven.left_out == ((2002, "11 days of 365 missing, left out only where those days are needed"),)
    assert np.isnan(eleven.tmax_c[1, :365]).sum() == 11
    record.tmax_c[gap - 100 : gap + 100] = np.nan
    half = lay_weather_years(record, False, day(2026, 1, 1), day(2028, 1, 1), day(2026, 1, 1))
    assert half.labels == (2001, 2003)
    assert half.left_out == ((2002, "200 days of 365 missing"),)
    # The season after 2001 is then the next that can be used.
    assert half.tmin_c[0, day(2027, 1, 1) - half.first_day] == day(2003, 1, 1)


def test_days_that_a_nearly_whole_season_lacks_stay_missing():
    record = numbered(day(2001, 1, 1), day(2002, 12, 24))
    laid = lay_weather_years(record, False, day(2026, 1, 1), day(2027, 1, 1), day(2026, 1, 1))
    assert laid.labels == (2001, 2002)
    assert np.isnan(laid.tmin_c).sum(axis=1).tolist() == [0, 8]
    assert np.isnan(laid.tmin_c[1, -8:]).all()


def test_short_gaps_are_filled_and_do_not_count():
    record = numbered(day(2001, 1, 1), day(2002, 1, 1))
    for start in range(10, 300, 10):
        record.tmin_c[start : start + 3] = np.nan
    laid = lay_weather_years(record, False, day(2026, 1, 1), day(2027, 1, 1), day(2026, 1, 1))
    np.testing.assert_allclose(laid.tmin_c[0], np.arange(day(2001, 1, 1), day(2002, 1, 1)))


def test_a_record_of_half_a_year_gives_no_row():
    record = numbered(day(2001, 1, 1), day(2001, 7, 1))
    laid = lay_weather_years(record, False, day(2026, 1, 1), day(2027, 1, 1), day(2026, 1, 1))
    assert laid.tmin_c.shape == (0, 365)
    assert laid.labels == ()
    assert [season for season, _ in laid.left_out] == [2001]


def test_rows_are_contiguous_float64_and_leave_the_record_alone():
    record = numbered(day(2001, 1, 1), day(2026, 2, 1))
    before = record.tmin_c.copy()
    laid = lay_weather_years(record, False, day(2026, 1, 1), day(2027, 1, 1), day(2026, 2, 1))
    for rows in (laid.tmin_c, laid.tmax_c, laid.tmean_c):
        assert rows.dtype == np.float64
        assert rows.flags.c_contiguous
        assert rows.flags.writeable
    np.testing.assert_array_equal(record.tmin_c, before)


@settings(max_examples=40)
@given(st.integers(-60, 60), st.booleans(), st.integers(0, 700))
def test_a_record_moved_by_some_days_moves_the_weather_years(moved, south, planned_after):
    start = season_start(2001, south)
    rng = np.random.default_rng(5)
    tmin = rng.normal(5, 8, season_start(2012, south) - start + 140)
    record = WeatherRecord(start - 70, tmin, tmin + 8, tmin + 4)
    later = WeatherRecord(start - 70 + moved, tmin, tmin + 8, tmin + 4)
    first_day = season_start(2025, south)
    stretch = (first_day, season_start(2028, south), first_day + 500)
    laid, moved_on = (lay_weather_years(each, south, *stretch) for each in (record, later))
    assert laid.labels == moved_on.labels == tuple(range(2001, 2012))
    planned = first_day + planned_after
    if season_of(planned, south) == season_of(planned + moved, south) and planned + moved >= first_day:
        column = planned - first_day
        np.testing.assert_array_equal(laid.tmin_c[:, column], moved_on.tmin_c[:, column + moved])


@pytest.mark.parametrize(("name", "seasons"), [("brussels_1976_2005", 30), ("utsunomiya_1976_2025", 50)])
def test_regression_every_season_of_the_real_records_is_usable(name, seasons):
    record, _ = read_weather_file(DATA / f"{name}.csv.gz", name)
    assert record is not None
    usable, left_out = usable_years(record, False)
    assert len(usable) == seasons
    assert left_out == []
