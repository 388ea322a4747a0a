"""The weather of a bench."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from care_planner.climate.benches import on_bench


def test_a_frost_pocket_is_colder_by_day_and_night():
    tmin, tmax = on_bench(np.array([1.0, np.nan]), np.array([9.0, 9.0]), offset_c=-2.0)
    np.testing.assert_array_equal(tmin, [-1, np.nan])
    np.testing.assert_array_equal(tmax, [7, 7])


def test_a_shelter_with_a_floor_and_a_vent():
    # By day: lifted to the floor and gaining 3; gaining less up to the vent; outside warmer than the vent.
    tmin, tmax = on_bench(
        np.array([-9.0, 1.0, 3.0, 9.0]), np.array([-4.0, 6.0, 7.0, 15.0]), floor_c=2.0, vent_c=8.0
    )
    assert tmin.tolist() == [2, 2, 3, 9]
    assert tmax.tolist() == [5, 8, 8, 15]


def test_the_offset_comes_before_the_floor():
    tmin, tmax = on_bench(np.array([1.0]), np.array([2.0]), offset_c=-2.0, floor_c=0.0)
    assert (tmin[0], tmax[0]) == (0, 0)


@given(
    st.floats(-30, 30),
    st.floats(0, 20),
    st.floats(0, 5),
    st.one_of(st.none(), st.floats(-5, 10)),
    st.one_of(st.none(), st.floats(5, 20)),
)
def test_a_warmer_day_is_never_colder_on_a_bench_and_tmin_stays_under_tmax(low, span, warmer, floor, vent):
    tmin, tmax = np.array([low, low + warmer]), np.array([low + span, low + span + warmer])
    inside_min, inside_max = on_bench(tmin, tmax, floor_c=floor, vent_c=vent)
    assert inside_min[1] >= inside_min[0]
    assert inside_max[1] >= inside_max[0]
    assert (inside_min <= inside_max).all()
    assert (inside_max >= tmax).all()
