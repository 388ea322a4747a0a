"""First and last nights at or under a temperature: the split at midsummer and NOAA's percentiles."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from care_planner.climate.frost import night_seasons, percentile_day
from care_planner.spans import HALF_YEAR_DAYS, NEVER, season_start


def night_date(offset: float, south: bool) -> date | None:
    """An offset from midwinter as a day of a common year; None for NEVER."""
    if np.isinf(offset):
        return None
    return date.fromordinal(season_start(2002, south)) + timedelta(days=int(offset))


def mild_years(first: date, end: date, cold: dict[date, float]) -> tuple[int, np.ndarray]:
    """Tmin of 10 degC from `first` to `end`, but for the cold nights given."""
    tmin = np.full((end - first).days, 10.0)
    for night, value in cold.items():
        tmin[(night - first).days] = value
    return first.toordinal(), tmin


def test_reference_percentiles_by_noaas_definition_of_the_first_freeze():
    # Readme of NOAA's 1981-2010 supplemental normals: prbfst is the chance that the first freeze falls on
    # that date or earlier. Ten autumns, by hand; the 30 % date is where 3 of 10 have had theirs.
    offsets = np.array([-70, -60, -65, -50, -52, -40, -45, -30, -35, -20.0])
    assert percentile_day(offsets, 0.1, which="first") == -70
    assert percentile_day(offsets, 0.3, which="first") == -60
    assert percentile_day(offsets, 0.5, which="first") == -50
    assert percentile_day(offsets, 0.9, which="first") == -30
    assert percentile_day(offsets, 1.0, which="first") == -20


def test_reference_percentiles_by_noaas_definition_of_the_last_freeze():
    # The same readme: prblst is the chance that the last freeze falls on that date or later.
    offsets = np.array([70, 60, 65, 50, 52, 40, 45, 30, 35, 20.0])
    assert percentile_day(offsets, 0.1, which="last") == 70
    assert percentile_day(offsets, 0.3, which="last") == 60
    assert percentile_day(offsets, 0.5, which="last") == 50
    assert percentile_day(offsets, 0.9, which="last") == 30


def test_seasons_without_such_a_night_count():
    offsets = np.array([-10, NEVER, -20, NEVER])
    assert percentile_day(offsets, 0.25, which="first") == -20
    assert percentile_day(offsets, 0.5, which="first") == -10
    assert percentile_day(offsets, 0.51, which="first") == NEVER
    assert percentile_day(-offsets * [1, -1, 1, -1], 0.5, which="last") == 10
    assert percentile_day(-offsets * [1, -1, 1, -1], 0.51, which="last") == NEVER


def test_a_chance_that_is_none_and_no_season_are_refused():
    with pytest.raises(ValueError, match="a chance lies above 0 and at most at 1, not 0"):
        percentile_day(np.array([1.0]), 0, which="first")
    with pytest.raises(ValueError, match="no season to take a chance from"):
        percentile_day(np.array([]), 0.5, which="last")


def test_one_winter_is_one_year_of_nights_split_at_midsummer():
    cold = {
        date(2020, 10, 20): 0.0,
        date(2021, 4, 12): 0.0,
        date(2021, 5, 3): 0.1,
        date(2022, 1, 5): -1.0,
        date(2022, 2, 7): -0.5,
    }
    first_day, tmin = mild_years(date(2020, 1, 1), date(2023, 1, 1), cold)
    first = night_seasons(first_day, tmin, False, 0.0, "first")
    # The autumn of 2022 has no such night, and of the spring after it nothing is known.
    assert first.years == (2020, 2021)
    assert [night_date(offset, False) for offset in first.day_offsets] == [
        date(2001, 10, 20),
        date(2002, 1, 5),
    ]
    assert first.left_out == (2022,)
    last = night_seasons(first_day, tmin, False, 0.0, "last")
    # Before the spring of 2020, which had no such night, nothing is known.
    assert last.years == (2021, 2022)
    assert [night_date(offset, False) for offset in last.day_offsets] == [date(2002, 4, 12), date(2002, 2, 7)]
    assert last.left_out == (2020,)


def test_a_night_on_midsummers_day_belongs_to_the_winter_that_follows():
    # 182 days after midwinter: 2 July in a common year.
    cold = {date(2021, 7, 1): -1.0, date(2021, 7, 2): -2.0}
    first_day, tmin = mild_years(date(2020, 7, 1), date(2022, 7, 2), cold)
    last = night_seasons(first_day, tmin, False, 0.0, "last")
    assert last.years == (2021, 2022)
    assert [night_date(offset, False) for offset in last.day_offsets] == [date(2002, 7, 1), date(2001, 7, 2)]
    first = night_seasons(first_day, tmin, False, -2.0, "first")
    assert first.day_offsets.tolist() == [NEVER, -183]


def test_a_winter_without_such_a_night_is_never():
    first_day, tmin = mild_years(date(2020, 7, 1), date(2021, 7, 5), {})
    for which in ("first", "last"):
        nights = night_seasons(first_day, tmin, False, 0.0, which)
        assert nights.day_offsets.tolist() == [NEVER]
        assert night_date(nights.day_offsets[0], False) is None


def test_the_south_has_its_nights_half_a_year_later():
    cold = {date(2020, 10, 20): 0.0, date(2021, 4, 12): -2.0}
    first_day, tmin = mild_years(date(2020, 6, 25), date(2021, 7, 10), cold)
    for which in ("first", "last"):
        north = night_seasons(first_day, tmin, False, 0.0, which)
        south = night_seasons(first_day + HALF_YEAR_DAYS, tmin, True, 0.0, which)
        assert north.years == south.years
        np.testing.assert_array_equal(north.day_offsets, south.day_offsets)
    assert night_date(102 - 1, True) == date(2002, 10, 11)


def test_a_half_with_more_than_ten_missing_days_is_left_out_and_with_ten_is_not():
    cold = {date(2020, 11, 1): -1.0, date(2021, 3, 1): -1.0}
    first_day, tmin = mild_years(date(2020, 7, 1), date(2021, 7, 2), cold)
    gap = date(2020, 9, 1).toordinal() - first_day
    tmin[gap : gap + 10] = np.nan
    assert night_seasons(first_day, tmin, False, 0.0, "first").years == (2020,)
    tmin[gap : gap + 11] = np.nan
    assert night_seasons(first_day, tmin, False, 0.0, "first").left_out == (2020,)
    # The last night is known all the same.
    assert night_seasons(first_day, tmin, False, 0.0, "last").years == (2021,)


@given(st.lists(st.integers(-180, 180), min_size=1, max_size=40), st.floats(0.01, 1))
def test_the_share_of_seasons_at_a_percentile_is_at_least_its_chance(offsets, chance):
    values = np.array(offsets, dtype=np.float64)
    assert (values <= percentile_day(values, chance, which="first")).mean() >= chance - 1e-9
    assert (values >= percentile_day(values, chance, which="last")).mean() >= chance - 1e-9
