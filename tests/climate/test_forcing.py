"""The daily curve, and forcing through a sigmoid of it."""

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from care_planner.climate.daily_curve import hourly_temperatures
from care_planner.climate.forcing import sigmoid_forcing


def test_the_daily_curve_runs_from_its_minimum_over_its_maximum_to_the_next_minimum():
    hours = hourly_temperatures(np.array([2.0, -4.0]), np.array([12.0, 6.0]))
    assert hours.shape == (2, 24)
    assert (np.diff(hours[:, :10]) > 0).all()
    assert (np.diff(hours[:, 10:]) < 0).all()
    # Half an hour off the extremes: 2 + 10 (1 - cos(pi / 20)) / 2 and -4 + 16 (1 - cos(pi / 28)) / 2.
    assert math.isclose(hours[0, 0], 2 + 5 * (1 - math.cos(math.pi / 20)))
    assert math.isclose(hours[0, 23], -4 + 8 * (1 - math.cos(math.pi / 28)))
    # Rising 10 h about 7, falling 14 h about 4 (the next minimum is -4).
    assert math.isclose(hours[0].mean(), (10 * 7 + 14 * 4) / 24)


def test_a_still_day_has_the_rate_of_its_temperature():
    still = np.array([5.0, 10.0, 15.0])
    rows = np.repeat(still[:, None], 2, axis=1)
    expected = [1 / (1 + math.exp(1)), 0.5, 1 / (1 + math.exp(-1))]
    forcing = sigmoid_forcing(rows, rows, midpoint_c=10, slope_per_c=0.2)
    np.testing.assert_allclose(forcing[:, 0], expected, rtol=1e-12)


def test_reference_rate_of_the_sarvas_haenninen_curve():
    # Hänninen 1990 (from memory): rate 28.4 / (1 + exp(-0.185 (T - 18.4))), so at 10 degC it is 4.95.
    still = np.full(2, 10.0)
    rate = 28.4 * sigmoid_forcing(still, still, midpoint_c=18.4, slope_per_c=0.185)
    np.testing.assert_allclose(rate, 4.95, atol=0.01)


def test_a_swing_across_the_bend_counts_more_than_its_mean_in_the_cold_and_less_in_the_warmth():
    still, low, high = np.full(2, 4.0), np.full(2, -2.0), np.full(2, 10.0)
    cold = sigmoid_forcing(low, high, midpoint_c=12, slope_per_c=0.4)
    assert (cold > sigmoid_forcing(still, still, midpoint_c=12, slope_per_c=0.4)).all()
    warm = sigmoid_forcing(low + 16, high + 16, midpoint_c=12, slope_per_c=0.4)
    assert (warm < sigmoid_forcing(still + 16, still + 16, midpoint_c=12, slope_per_c=0.4)).all()


def test_far_from_the_midpoint_it_is_nought_or_one_and_nan_stays_nan():
    tmin, tmax = np.array([-80.0, -80.0]), np.array([-70.0, -70.0])
    assert (sigmoid_forcing(tmin, tmax, midpoint_c=40, slope_per_c=50) < 1e-300).all()
    np.testing.assert_array_equal(sigmoid_forcing(-tmin, -tmax, midpoint_c=10, slope_per_c=50), 1)
    assert np.isnan(sigmoid_forcing(tmin, np.array([1.0, np.nan]), midpoint_c=0, slope_per_c=1))[1]


@given(
    st.lists(st.tuples(st.floats(-40, 45), st.floats(0, 25)), min_size=1, max_size=8),
    st.floats(0, 10),
    st.floats(0.05, 2),
)
def test_forcing_never_falls_when_warmer(pairs, warmer, slope):
    tmin = np.array([low for low, _ in pairs])
    tmax = tmin + np.array([span for _, span in pairs])
    before = sigmoid_forcing(tmin, tmax, midpoint_c=12, slope_per_c=slope)
    after = sigmoid_forcing(tmin + warmer, tmax + warmer, midpoint_c=12, slope_per_c=slope)
    assert (after >= before - 1e-12).all()
    assert ((before >= 0) & (before <= 1)).all()
