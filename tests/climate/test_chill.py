"""Chill: the Utah weights as published, and hours on the daily curve."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from care_planner.climate.chill import hours_between, utah_units, utah_weight
from care_planner.climate.daily_curve import hourly_temperatures, hours_under

# Richardson, Seeley & Walker 1974 (HortScience 9:331-332), metric bins as the R package chillR 0.77 gives
# them: both edges of each bin.
UTAH_1974 = [
    (-5.0, 0.0),
    (1.4, 0.0),
    (1.41, 0.5),
    (2.4, 0.5),
    (2.41, 1.0),
    (9.1, 1.0),
    (9.11, 0.5),
    (12.4, 0.5),
    (12.41, 0.0),
    (15.9, 0.0),
    (15.91, -0.5),
    (18.0, -0.5),
    (18.01, -1.0),
    (30.0, -1.0),
]


def test_reference_utah_weights():
    temperatures, weights = np.array(UTAH_1974).T
    np.testing.assert_array_equal(utah_weight(temperatures), weights)


def test_reference_positive_only_utah_weights():
    # Linsley-Noakes 1995: as Utah, with nothing taken away over 15.9 degC.
    temperatures, weights = np.array(UTAH_1974).T
    np.testing.assert_array_equal(utah_weight(temperatures, positive_only=True), np.maximum(weights, 0))


@pytest.mark.parametrize("positive_only", [False, True])
def test_a_day_at_one_temperature_counts_24_times_its_weight(positive_only):
    temperatures = np.array(UTAH_1974)[:, 0]
    still = np.repeat(temperatures[:, None], 3, axis=1)
    expected = 24 * utah_weight(still, positive_only=positive_only)
    np.testing.assert_allclose(utah_units(still, still, positive_only=positive_only), expected, atol=1e-9)


@pytest.mark.parametrize("positive_only", [False, True])
def test_utah_units_agree_with_the_weights_of_a_finely_sampled_day(positive_only):
    rng = np.random.default_rng(3)
    tmin = rng.uniform(-8, 14, (4, 40))
    tmax = tmin + rng.uniform(0, 15, (4, 40))
    following = np.concatenate([tmin[:, 1:], tmin[:, -1:]], axis=1)
    share = (np.arange(2000) + 0.5) / 2000
    up = tmin[..., None] + (tmax - tmin)[..., None] * (1 - np.cos(np.pi * share)) / 2
    down = following[..., None] + (tmax - following)[..., None] * (1 + np.cos(np.pi * share)) / 2
    weights = [utah_weight(half, positive_only=positive_only).mean(axis=-1) for half in (up, down)]
    expected = 10 * weights[0] + 14 * weights[1]
    np.testing.assert_allclose(utah_units(tmin, tmax, positive_only=positive_only), expected, atol=0.05)


def test_hours_of_a_day_done_on_paper():
    # From 0 to 10 degC and back: half the time under 5; a third under 2.5 (arccos 0.5 is a third of a turn).
    tmin, tmax = np.zeros(3), np.full(3, 10.0)
    np.testing.assert_allclose(hours_between(tmin, tmax, low_c=-5, high_c=5), 12)
    np.testing.assert_allclose(hours_between(tmin, tmax, low_c=0, high_c=2.5), 8)
    np.testing.assert_allclose(hours_between(tmin, tmax, low_c=2.5, high_c=5), 4)
    np.testing.assert_allclose(hours_between(tmin, tmax, low_c=-20, high_c=-10), 0)


def test_a_shelter_held_at_the_edge_itself_counts():
    still = np.full(3, 2.0)
    np.testing.assert_array_equal(hours_between(still, still, low_c=2, high_c=7), 24)
    np.testing.assert_array_equal(hours_between(still, still, low_c=-1, high_c=2), 24)


def test_hours_agree_with_the_hourly_curve():
    tmin, tmax = np.array([-3.0, 2.0, 1.0, 6.0]), np.array([4.0, 12.0, 5.0, 6.5])
    counted = ((hourly_temperatures(tmin, tmax) >= 0) & (hourly_temperatures(tmin, tmax) <= 7.2)).sum(axis=-1)
    # The curve is counted by whole hours here, so an hour of play at each crossing.
    np.testing.assert_allclose(hours_between(tmin, tmax, low_c=0, high_c=7.2), counted, atol=1.5)


def test_a_missing_day_is_missing_and_makes_the_evening_before_it_unknown():
    tmin, tmax = np.array([1.0, 1.0, np.nan, 1.0]), np.array([5.0, 5.0, 5.0, 5.0])
    expected = [False, True, True, False]
    assert np.isnan(hours_between(tmin, tmax, low_c=0, high_c=7)).tolist() == expected
    assert np.isnan(utah_units(tmin, tmax)).tolist() == expected
    assert np.isnan(utah_weight(np.array([np.nan, 3.0]))).tolist() == [True, False]


def test_edges_the_wrong_way_round_are_refused():
    with pytest.raises(ValueError, match="between two temperatures, the lower first: 7, 2"):
        hours_between(np.zeros(1), np.ones(1), low_c=7, high_c=2)


@given(st.floats(-30, 30), st.floats(0, 25), st.floats(0, 8), st.floats(-20, 20))
def test_hours_under_a_temperature_lie_between_0_and_24_and_never_rise_when_warmer(low, span, warmer, edge):
    tmin = np.array([low, low + span / 3])
    tmax = tmin + span
    before = hours_under(tmin, tmax, edge, or_at=True)
    assert ((before >= 0) & (before <= 24)).all()
    assert (hours_under(tmin + warmer, tmax + warmer, edge, or_at=True) <= before + 1e-6).all()
    assert (hours_under(tmin, tmax, edge, or_at=False) <= before).all()
