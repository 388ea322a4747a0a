"""Gaps: short ones are filled by a straight line, longer ones stay missing."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from care_planner.climate.gaps import SHORT_GAP_DAYS, fill_short_gaps, fill_temperatures, missing_runs

NAN = np.nan


def test_a_gap_of_three_days_is_a_straight_line_and_one_of_four_stays():
    values = np.array([1, NAN, NAN, NAN, 5, NAN, NAN, NAN, NAN, 9])
    filled, was_filled = fill_short_gaps(values)
    np.testing.assert_array_equal(filled, [1, 2, 3, 4, 5, NAN, NAN, NAN, NAN, 9])
    assert was_filled.tolist() == [False, True, True, True, False, False, False, False, False, False]


def test_the_ends_stay_missing_and_the_argument_is_left_as_it_was():
    values = np.array([NAN, 2, NAN, 4, NAN])
    filled, _ = fill_short_gaps(values)
    np.testing.assert_array_equal(filled, [NAN, 2, 3, 4, NAN])
    np.testing.assert_array_equal(values, [NAN, 2, NAN, 4, NAN])


def test_nothing_but_gap_stays_a_gap():
    filled, was_filled = fill_short_gaps(np.full(2, NAN))
    assert np.isnan(filled).all()
    assert not was_filled.any()


def test_a_filled_tmin_never_crosses_its_tmax():
    tmin, tmax = np.array([8, NAN, 8.0]), np.array([12, 4, 12.0])
    low, high, _ = fill_temperatures(tmin, tmax, (tmin + tmax) / 2)
    assert low.tolist() == [8, 6, 8]
    assert high.tolist() == [12, 6, 12]


@given(st.lists(st.one_of(st.just(NAN), st.floats(-50, 50)), min_size=1, max_size=60))
def test_what_was_known_is_kept_and_a_gap_beyond_policy_stays_missing(readings):
    values = np.array(readings)
    filled, was_filled = fill_short_gaps(values)
    known = ~np.isnan(values)
    np.testing.assert_array_equal(filled[known], values[known])
    np.testing.assert_array_equal(was_filled, ~np.isnan(filled) & ~known)
    for start, end in missing_runs(~known):
        inner = start > 0 and end < len(values)
        expected = inner and end - start <= SHORT_GAP_DAYS
        assert was_filled[start:end].tolist() == [expected] * (end - start)
