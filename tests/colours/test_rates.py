"""What notes teach of the rates: nothing at first, then more; intervals that hold what they say."""

import numpy as np
import pytest
from grown import Chance, branch, tree

from care_planner.colours.belief import believe
from care_planner.colours.rates import Rates, learnt
from care_planner.colours.slices import cut_into_nodes


def test_regression_the_starting_belief_is_wide() -> None:
    rates = learnt([])
    assert rates.quantile("darken", 0.5) == pytest.approx(0.05, rel=0.05)
    assert rates.quantile("darken", 0.1) < 0.014 and rates.quantile("darken", 0.9) > 0.17
    assert rates.quantile("back", 0.5) == pytest.approx(0.003, rel=0.1)
    assert rates.quantile("back", 0.9) / rates.quantile("back", 0.1) > 25


def test_a_tree_without_flowers_teaches_nothing() -> None:
    unseen = tree("t", branch("trunk", 2020), branch("a", 2021))
    _, rates = believe([unseen], 5, 2026)
    assert np.array_equal(rates.weight, learnt([]).weight)


def learnt_from(seed: int, darken: float, back: float = 0.003) -> Rates:
    chance = Chance(seed, darken, back, 5)
    trees = [chance.tree(f"t{i}", 6, 2020, 2026)[0] for i in range(6)]
    return learnt([cut_into_nodes(trees, 5, 2026)])


def test_learnt_intervals_hold_the_truth_about_as_often_as_they_say() -> None:
    """Collections whose rate is known because they were made with it; the chances are fixed by their seeds.

    tests/benchmarks/colour_rates.py does the same with 500 collections.
    """
    held = 0
    for seed, truth in enumerate([0.02, 0.04, 0.06, 0.09, 0.14] * 8):
        rates = learnt_from(seed, truth)
        held += rates.quantile("darken", 0.1) <= truth <= rates.quantile("darken", 0.9)
    assert 26 <= held <= 38  # of 40; 80 % is 32, 2.5 standard deviations to either side


def test_more_trees_narrow_the_belief() -> None:
    chance = Chance(1, 0.06, 0.003, 5)
    trees = [chance.tree(f"t{i:02}", 6, 2020, 2026)[0] for i in range(40)]
    few, many = (learnt([cut_into_nodes(part, 5, 2026)]) for part in (trees[:3], trees))

    def width(rates: Rates) -> float:
        return rates.quantile("darken", 0.9) / rates.quantile("darken", 0.1)

    assert width(many) < width(few) < width(learnt([]))
    assert many.quantile("darken", 0.01) < 0.06 < many.quantile("darken", 0.99)


def test_a_finer_grid_changes_what_is_learnt_by_little(monkeypatch: pytest.MonkeyPatch) -> None:
    coarse = learnt_from(3, 0.06)
    monkeypatch.setattr("care_planner.colours.rates.POINTS", (41, 21))
    fine = learnt_from(3, 0.06)
    for share in (0.1, 0.5, 0.9):
        assert coarse.quantile("darken", share) == pytest.approx(fine.quantile("darken", share), rel=0.05)


def test_averaging_over_fewer_pairs_changes_chances_by_little() -> None:
    chance = Chance(5, 0.06, 0.003, 5)
    trees = [chance.tree(f"t{i}", 6, 2022, 2026)[0] for i in range(4)]
    shown, rates = believe(trees, 5, 2026)
    full, _ = believe(trees, 5, 2026, rates)
    for a, b in zip(shown, full, strict=True):
        for owner in a.wood:
            assert a.lightest(owner) == pytest.approx(b.lightest(owner), abs=1e-3)
