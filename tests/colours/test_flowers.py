"""How likely flowers are on each wood: by hand, and the laws that need no tree."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from care_planner.colours.flowers import likelihood


def test_by_hand() -> None:
    # Three forms. Light wood: weights 1, 1/4, 1/4. Two light flowers and a middle one:
    # 1/1.5 * 2/2.5 * 0.25/3.5; middle and dark wood cannot.
    assert likelihood((2, 1, 0)) == (1.0, 0.0, 0.0)
    # Two dark flowers: light wood 0.25/1.5 * 1.25/2.5 = 1/12, middle 0.5/1.5 * 1.5/2.5 = 1/5, dark 1.
    assert likelihood((0, 0, 2)) == pytest.approx((1 / 12, 1 / 5, 1.0), abs=1e-12)


def test_no_flowers_say_nothing() -> None:
    assert likelihood((0, 0, 0)) == (1.0, 1.0, 1.0)
    assert likelihood((0, 0, 0), full_sun=True) == (1.0, 1.0, 1.0)


def test_in_full_sun_a_light_flower_rules_nothing_out() -> None:
    shade, sun = likelihood((3, 0, 0)), likelihood((3, 0, 0), full_sun=True)
    assert shade[1:] == (0.0, 0.0)
    assert 0 < sun[2] < sun[0]


counts = st.lists(st.integers(0, 30), min_size=2, max_size=7).map(tuple)
beliefs = st.lists(st.floats(0.001, 1.0), min_size=7, max_size=7)


@given(counts, st.data())
def test_more_of_one_form_never_raises_another_relative_to_it(
    seen: tuple[int, ...], data: st.DataObject
) -> None:
    """P(can give another) / P(can give this), whatever was believed before."""
    form = data.draw(st.integers(0, len(seen) - 1))
    prior = np.array(data.draw(beliefs)[: len(seen)])
    more = tuple(count + (i == form) for i, count in enumerate(seen))
    before, after = (np.cumsum(prior * likelihood(c)) / (prior @ likelihood(c)) for c in (seen, more))
    for other in range(len(seen)):
        assert after[other] / after[form] <= before[other] / before[form] * (1 + 1e-9)


@given(counts, st.data())
def test_more_of_a_form_already_seen_never_raises_the_chance_of_another(
    seen: tuple[int, ...], data: st.DataObject
) -> None:
    form = data.draw(st.integers(0, len(seen) - 1))
    seen = tuple(max(count, int(i == form)) for i, count in enumerate(seen))
    prior = np.array(data.draw(beliefs)[: len(seen)])
    more = tuple(count + (i == form) for i, count in enumerate(seen))
    before, after = (np.cumsum(prior * likelihood(c)) / (prior @ likelihood(c)) for c in (seen, more))
    others = [other for other in range(len(seen)) if other != form]
    assert all(after[other] <= before[other] + 1e-12 for other in others)
