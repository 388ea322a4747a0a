"""Posteriors that can be done on paper: two forms, light and dark, three branches, fractions throughout.

The chances a year are 1/10 to darken and 1/20 to go back. Light wood gives its own form with weight 1 and
the dark one with weight 1/2: a single flower on it is light with 2/3 and dark with 1/3. Dark wood gives
dark flowers only.
"""

from fractions import Fraction as F

import pytest
from grown import branch, tree

from care_planner.colours.belief import believe
from care_planner.colours.cuttings import chance_of_cutting
from care_planner.colours.rates import known

RATES = known(0.1, 0.05)
LIGHT, DARK = (1, 0), (0, 1)


def test_two_side_branches_that_differ_and_one_unseen() -> None:
    lineage = tree(
        "t",
        branch("trunk", 2026),
        branch("a", 2027, {2027: LIGHT}),
        branch("b", 2027, {2027: DARK}),
        branch("c", 2027),
    )
    # The trunk's wood in 2026, both alike at first. Light: a shows light 9/10 * 2/3, b shows dark
    # 9/10 * 1/3 + 1/10. Dark: a 1/20 * 2/3, b 1/20 * 1/3 + 19/20.
    if_light = F(9, 10) * F(2, 3) * (F(9, 10) * F(1, 3) + F(1, 10))
    if_dark = F(1, 20) * F(2, 3) * (F(1, 20) * F(1, 3) + F(19, 20))
    assert (if_light, if_dark) == (F(6, 25), F(29, 900))
    both = if_light + if_dark
    b_light = (F(9, 10) * F(2, 3) * F(9, 10) * F(1, 3) + F(1, 20) * F(2, 3) * F(1, 20) * F(1, 3)) / both
    c_light = (if_light * F(9, 10) + if_dark * F(1, 20)) / both
    assert b_light == F(65, 98)

    ((belief,), _) = believe([lineage], 2, 2027, RATES)
    assert belief.lightest(("a", 0))[0] == pytest.approx(1.0, abs=1e-12)
    assert belief.lightest(("b", 0))[0] == pytest.approx(float(b_light), abs=1e-12)
    assert belief.lightest(("c", 0))[0] == pytest.approx(float(c_light), abs=1e-12)
    # Only a and b were seen in flower, and a is light for certain: cut it, and b must be the light one.
    assert belief.can_give[0] == pytest.approx(1.0, abs=1e-12)
    assert belief.loss["a"][0] == pytest.approx(float(1 - b_light), abs=1e-12)
    assert belief.loss["b"][0] == pytest.approx(0.0, abs=1e-12)
    assert belief.loss["c"][0] == pytest.approx(0.0, abs=1e-12)


def test_a_branch_on_a_branch_and_a_season_later() -> None:
    lineage = tree(
        "t",
        branch("trunk", 2026, {2026: DARK}),
        branch("a", 2027, {2027: DARK}),
        branch("b", 2028, {2028: LIGHT}, on="a"),
    )
    # b was light in 2028, so its wood was light. a's wood in 2027, from the trunk's of 2026:
    trunk_light, trunk_dark = F(1, 2) * F(1, 3), F(1, 2)  # by its one dark flower
    a_light = (trunk_light * F(9, 10) + trunk_dark * F(1, 20)) * F(1, 3)
    a_dark = trunk_light * F(1, 10) + trunk_dark * F(19, 20)
    from_light, from_dark = a_light * F(9, 10) * F(2, 3), a_dark * F(1, 20) * F(2, 3)
    then = from_light / (from_light + from_dark)
    now = then * F(9, 10) + (1 - then) * F(1, 20)  # a year more, unseen

    ((belief,), _) = believe([lineage], 2, 2028, RATES)
    assert belief.lightest(("a", 0))[0] == pytest.approx(float(now), abs=1e-12)
    assert belief.lightest(("b", 0))[0] == pytest.approx(1.0, abs=1e-12)
    # What all but b's own flower say of b: a's wood one year on.
    before = (a_light * F(9, 10) + a_dark * F(1, 20)) / (a_light + a_dark)
    assert before > F(1, 20)  # so a light flower there is not unusual
    assert belief.doubts == ()


def test_a_cutting_is_a_year_of_growth_from_its_branch() -> None:
    lineage = tree("t", branch("trunk", 2027, {2027: (0, 2)}))
    # Two dark flowers on light wood: 1/3, then (1/2 + 1) / (3/2 + 1) = 3/5; together 1/5. Dark wood: 1.
    light = F(1, 5) / (1 + F(1, 5))
    assert light == F(1, 6)
    ((belief,), _) = believe([lineage], 2, 2027, RATES)
    assert belief.gives(("trunk", 0))[0] == pytest.approx(float(light), abs=1e-12)
    cutting = light * F(9, 10) + (1 - light) * F(1, 20)
    assert chance_of_cutting(belief, "trunk", 0) == pytest.approx(float(cutting), abs=1e-12)


def test_a_light_flower_on_a_dark_branch_is_unusual_and_the_rate_back_learns_from_it() -> None:
    dark = dict.fromkeys(range(2022, 2027), (0, 20))
    usual = tree("t", branch("trunk", 2021, dark), branch("a", 2024, {2026: (0, 9)}))
    odd = tree("t", branch("trunk", 2021, dark), branch("a", 2024, {2026: (9, 0)}))
    ((before,), rates_before) = believe([usual], 2, 2026)
    ((after,), rates_after) = believe([odd], 2, 2026)
    assert before.doubts == ()
    (doubt,) = after.doubts
    assert (doubt.owner, doubt.season, doubt.form, doubt.is_lighter) == (("a", 0), 2026, 0, True)
    assert rates_after.quantile("back", 0.5) > rates_before.quantile("back", 0.5)
