"""How likely flowers are on each wood: by hand, and the laws that need no tree."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from care_planner.colours.flowers import Readings, read_as

HABIT = 2 / 3  # weights 1 on the own form, 1/2 on the darker ones together


def read(counts: tuple[int, ...], full_sun: bool = False, habit: float = HABIT) -> Readings:
    return read_as([counts], [full_sun], [habit])


def likelihood(counts: tuple[int, ...], full_sun: bool = False, mistakes: float = 0.0) -> np.ndarray:
    """[K], the largest being 1."""
    found = read(counts, full_sun).likelihood(mistakes)[0, 0]
    return np.asarray(found / found.max())


def test_by_hand() -> None:
    # Three forms. Light wood: weights 1, 1/4, 1/4. Two light flowers and a middle one:
    # 1/1.5 * 2/2.5 * 0.25/3.5; middle and dark wood cannot.
    assert likelihood((2, 1, 0)).tolist() == [1.0, 0.0, 0.0]
    # Two dark flowers: light wood 0.25/1.5 * 1.25/2.5 = 1/12, middle 0.5/1.5 * 1.5/2.5 = 1/5, dark 1.
    assert likelihood((0, 0, 2)) == pytest.approx((1 / 12, 1 / 5, 1.0), abs=1e-12)


def test_a_slip_by_hand() -> None:
    """Two forms, one light and one dark flower noted, one in a hundred read one form off."""
    found = read((1, 1))
    # As noted light wood 2/3 * 1/5 (the second drawn from 1.5 + 1 with weight 1/2), dark wood cannot.
    clean, wrong = found.parts(1e-12)
    scale = 2 / 3 * 1 / 5
    # None misread 0.99, either of the two 0.01 each, these three made to add up to 1.
    assert clean[0, 0] * scale == pytest.approx([0.99 / 1.01 * scale, 0.0], abs=1e-9)
    # The light one was dark in truth: light wood 1/3 * 3/5, dark wood 1; or the dark one light: 2/3 * 4/5, 0.
    slips = 0.01 / 1.01 * np.array([1 / 3 * 3 / 5 + 2 / 3 * 4 / 5, 1.0])
    assert wrong[0, 0] * scale == pytest.approx(slips, abs=1e-9)


def test_a_note_of_other_wood_rules_nothing_out() -> None:
    """It is as likely of one wood as of another, so all are left a chance of the mean."""
    found = likelihood((9, 0, 0), mistakes=0.03)
    # 0.97 * 0.99 / 1.08 that none of nine was misread, against 0.03 * 1/3; no slip makes solid wood white.
    assert found[2] == pytest.approx(0.01 / (0.01 + 0.97 * 0.99 / 1.08), rel=0.02)
    assert likelihood((9, 0, 0))[2] == 0.0


def test_no_flowers_say_nothing() -> None:
    assert likelihood((0, 0, 0)).tolist() == [1.0, 1.0, 1.0]
    assert likelihood((0, 0, 0), full_sun=True, mistakes=0.03) == pytest.approx(1.0)


def test_in_full_sun_a_light_flower_rules_nothing_out() -> None:
    shade, sun = likelihood((3, 0, 0)), likelihood((3, 0, 0), full_sun=True)
    assert shade[1:].tolist() == [0.0, 0.0]
    assert 0 < sun[2] < sun[0]


def test_wood_of_a_strong_habit_seldom_hides_its_form() -> None:
    weak, strong = (read((0, 0, 9), habit=habit).right[0, 0] for habit in (0.1, 0.9))
    assert strong[0] < weak[0] / 10


def test_very_many_flowers_keep_their_meaning() -> None:
    found = read((0, 60_000, 40_000)).likelihood(0.03)
    assert np.isfinite(found).all() and found[0, 0, 1] > found[0, 0, 2] > 0


counts = st.lists(st.integers(0, 30), min_size=2, max_size=7).map(tuple)
beliefs = st.lists(st.floats(0.001, 1.0), min_size=7, max_size=7)


@given(counts, st.data())
def test_more_of_one_form_never_raises_another_relative_to_it(
    seen: tuple[int, ...], data: st.DataObject
) -> None:
    """P(can give another) / P(can give this), whatever was believed before, where notes are right."""
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
