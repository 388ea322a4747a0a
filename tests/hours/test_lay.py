"""Works laid into hours: what may not be broken, and that it is worth it."""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from care_planner.years.hours.lay import _Table, lay
from care_planner.years.hours.lived import lived
from care_planner.years.hours.problem import HoursProblem, Order, expected_loss, faults, kinds_on

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))
from levelling_cases import case


def small(
    loss: list[list[float]], count: list[int], minutes: list[float], capacity: list[float], **changes: object
) -> HoursProblem:
    """A problem written out: a class a row, a day a column, a kind a class."""
    classes, days = len(loss), len(capacity)
    made = HoursProblem(
        days=np.arange(days) * 7 + 700_000,
        capacity=np.array(capacity, float),
        most_kinds=np.full(days, 9),
        kind=np.arange(classes),
        count=np.array(count),
        minutes=np.array(minutes, float),
        loss=np.array(loss, float),
        missed=np.full(classes, 10.0),
        stands=np.full(classes, -1),
        setup=np.zeros(classes),
    )
    return replace(made, **changes)  # type: ignore[arg-type]


def test_by_hand_the_dearer_minute_wins_the_day_and_the_other_moves() -> None:
    """60 minutes a day; both want the first day, the long work loses more by waiting but less a minute."""
    problem = small([[0.0, 6.0], [0.0, 5.0]], [1, 1], [60.0, 30.0], [60.0, 60.0])
    laid = lay(problem).trees
    assert laid.tolist() in ([[1, 0], [0, 1]], [[0, 1], [1, 0]])
    assert expected_loss(problem, laid) == 5.0


def test_by_hand_what_saves_least_a_minute_is_left_out() -> None:
    problem = small([[0.0], [0.0]], [1, 1], [60.0, 30.0], [60.0], missed=np.array([9.0, 10.0]))
    laid = lay(problem)
    assert laid.trees.tolist() == [[0], [1]]
    assert laid.left(problem).tolist() == [1, 0]


def test_by_hand_trees_of_one_class_are_split_over_days() -> None:
    problem = small([[0.0, 1.0, 4.0]], [5], [30.0], [60.0, 60.0, 60.0])
    assert lay(problem).trees.tolist() == [[2, 2, 1]]


def test_by_hand_a_published_day_stands_for_the_price_of_a_move() -> None:
    problem = small([[0.0, 0.5]], [1], [30.0], [60.0, 60.0], stands=np.array([1]), move_price=1.0)
    assert lay(problem).trees.tolist() == [[0, 1]]
    assert lay(replace(problem, move_price=0.1)).trees.tolist() == [[1, 0]]


def test_by_hand_order_and_rest_are_kept_tree_by_tree() -> None:
    """The later work rests 14 days after the first: two Saturdays."""
    loss = [[0.0, 0.0, 9.0], [0.0, 0.0, 1.0]]
    problem = small(loss, [1, 1], [30.0, 30.0], [60.0] * 3, orders=(Order(0, 1, 14),))
    assert lay(problem).trees.tolist() == [[1, 0, 0], [0, 0, 1]]


def test_by_hand_no_more_kinds_a_day_than_one_can_live_with() -> None:
    problem = small([[0.0, 1.0]] * 3, [1] * 3, [5.0] * 3, [60.0, 60.0], most_kinds=np.array([2, 2]))
    assert kinds_on(problem, lay(problem).trees).sum(axis=1).tolist() == [2, 1]


@settings(max_examples=6, deadline=None)
@given(st.integers(1, 10_000), st.integers(2, 6), st.integers(30, 400))
def test_a_plan_can_be_lived_and_is_never_worse_than_lived(seed: int, trees: int, minutes: int) -> None:
    problem = case(trees, {5: float(minutes)}, seed)
    answer = lay(problem)
    assert faults(problem, answer.trees) == []
    before = lived(problem)
    assert faults(problem, before) == []
    assert expected_loss(problem, answer.trees) <= expected_loss(problem, before) + 1e-9
    assert (lay(problem).trees == answer.trees).all()


def test_faults_are_seen() -> None:
    problem = small([[0.0, np.inf]] * 2, [1, 1], [30.0, 40.0], [60.0, 60.0], orders=(Order(0, 1, 7),))
    assert faults(problem, np.array([[1, 0], [1, 0]])) == [
        "a day holds more than its hours",
        "class 1 comes too soon after class 0",
    ]
    assert faults(problem, np.array([[0, 1], [0, 0]])) == ["a work outside its window"]
    free = replace(problem, orders=())
    assert faults(free, np.array([[2, 0], [0, 0]])) == ["more trees than there are"]


def test_prices_are_there_only_where_a_day_is_wanted_by_more_than_it_holds() -> None:
    problem = small([[0.0, 3.0]] * 3, [1] * 3, [30.0] * 3, [30.0, 600.0])
    prices = lay(problem).prices
    assert prices[0] > 0 and prices[1] == 0


def test_regression_the_solver_is_no_worse_and_its_bound_holds() -> None:
    pytest.importorskip("highspy")
    from care_planner.years.hours.solve import solve

    problem = case(2, {5: 60.0})
    solved = solve(problem, most_nodes=20)
    was, now, best = (
        expected_loss(problem, one) for one in (lived(problem), lay(problem).trees, solved.laid.trees)
    )
    assert faults(problem, solved.laid.trees) == []
    assert solved.bound <= best + 1e-6
    assert best <= now + 1e-6 <= was + 2e-6


@pytest.mark.parametrize(("trees", "minutes"), [(12, {5: 50.0}), (20, {5: 120.0, 6: 60.0})])
def test_passing_over_what_would_be_laid_as_it_lies_changes_nothing(
    trees: int, minutes: dict[int, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    problem = case(trees, minutes)
    laid = lay(problem).trees
    with monkeypatch.context() as patch:  # every class, each time
        patch.setattr(_Table, "lies_best", lambda self, p: False)
        patch.setattr(_Table, "drawn_to", lambda self, days, most_paid: np.ones(len(self.trees), bool))
        assert np.array_equal(lay(problem).trees, laid)


def test_a_day_that_became_free_and_draws_nobody_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = case(12, {5: 50.0})
    laid = lay(problem).trees
    monkeypatch.setattr(_Table, "drawn_to", lambda self, days, most_paid: np.zeros(len(self.trees), bool))
    assert not np.array_equal(lay(problem).trees, laid)
