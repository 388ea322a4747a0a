"""Normal distributions given notes, each held against a sum over a grid or another form of the same."""

from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given as each
from hypothesis import settings
from hypothesis import strategies as st

from care_planner.learning import conditioning
from care_planner.learning.conditioning import ODD_AT, above, given, odd_notes
from care_planner.stages.reach import Floats

seeds = st.integers(0, 10_000)


def some_joint(seed: int, notes: int) -> tuple[Floats, Floats, Floats]:
    """The covariance of one asked pace and so many notes ([0] is the asked one), the noise, the values."""
    random = np.random.default_rng(seed)
    parts = random.normal(0.0, 0.1, (notes + 1, notes + 2))
    return parts @ parts.T, random.uniform(0.0005, 0.02, notes), random.normal(0.0, 0.15, notes)


# What is asked, given the notes.


@each(seeds, st.integers(1, 6))
def test_given_is_the_precision_matrix_form(seed: int, notes: int) -> None:
    """Mean and variance of one part of a joint normal from the inverse of the whole covariance."""
    joint, noise, values = some_joint(seed, notes)
    mean, variance = given(joint[1:, 1:], noise, values, joint[:1, 1:], joint[:1, 0])
    precision = np.linalg.inv(joint + np.diag([0.0, *noise]))
    assert variance[0] == pytest.approx(1.0 / precision[0, 0], rel=1e-6)
    assert mean[0] == pytest.approx(-precision[0, 1:] @ values / precision[0, 0], rel=1e-6, abs=1e-9)


@each(seeds)
@settings(max_examples=20)
def test_given_is_a_sum_over_a_grid(seed: int) -> None:
    """Two paces: the one asked and the noted one, weighed by how well each pair explains the note."""
    joint, noise, values = some_joint(seed, 1)
    spreads = np.sqrt(np.diag(joint))
    x, y = np.meshgrid(*(np.linspace(-8 * s, 8 * s, 801) for s in spreads), indexing="ij")
    (a, b), (_, c) = np.linalg.inv(joint)
    weight = np.exp(-(a * x * x + 2 * b * x * y + c * y * y + (values[0] - y) ** 2 / noise[0]) / 2)
    weight /= weight.sum()
    middle = float((weight * x).sum())
    mean, variance = given(joint[1:, 1:], noise, values, joint[:1, 1:], joint[:1, 0])
    assert mean[0] == pytest.approx(middle, rel=1e-4, abs=1e-6)
    assert variance[0] == pytest.approx(float((weight * (x - middle) ** 2).sum()), rel=1e-3)


def test_given_nothing_all_stays() -> None:
    none = np.zeros(0)
    mean, variance = given(np.zeros((0, 0)), none, none, np.zeros((2, 0)), np.array([0.01, 0.04]))
    assert mean.tolist() == [0.0, 0.0] and variance.tolist() == [0.01, 0.04]


# Notes that do not fit.


def without(joint: Floats, noise: Floats, values: Floats, i: int) -> tuple[float, float]:
    """What all notes but one say of that one: mean, and variance with its own noise."""
    rest = [j for j in range(len(values)) if j != i]
    known = joint[np.ix_(rest, rest)]
    mean, variance = given(known, noise[rest], values[rest], joint[[i]][:, rest], joint[[i], [i]])
    return float(mean[0]), float(variance[0] + noise[i])


@each(seeds, st.integers(2, 6))
def test_leave_one_out_is_leaving_one_out(seed: int, notes: int) -> None:
    joint, noise, values = some_joint(seed, notes)
    joint = joint[1:, 1:]
    told = [without(joint, noise, values, i) for i in range(notes)]
    # So small that nothing is odd, whatever was drawn: the first pass is the last.
    values *= 2.0 / max(2.0, *(abs(v - m) / s**0.5 for v, (m, s) in zip(values, told, strict=True)))
    extra, off, apart = odd_notes(joint, noise, values)
    assert extra.tolist() == [0.0] * notes
    for i in range(notes):
        mean, variance = without(joint, noise, values, i)
        assert apart[i] == pytest.approx(values[i] - mean, abs=1e-9)
        assert off[i] == pytest.approx((values[i] - mean) / variance**0.5, abs=1e-6)


def one_factor(values: list[float]) -> tuple[Floats, Floats, Floats]:
    """Notes of one pace that stays, each with an error of its own."""
    n = len(values)
    return np.full((n, n), 0.01), np.full(n, 0.001), np.array(values)


@pytest.mark.parametrize("wrong", [-2.0, -0.6, 0.6, 2.0])
@pytest.mark.parametrize("place", range(6))
def test_one_far_note_is_as_if_left_out(wrong: float, place: int) -> None:
    good = [0.03, 0.05, 0.04, 0.07, 0.02]
    joint, noise, values = one_factor([*good[:place], wrong, *good[place:]])
    extra, off, apart = odd_notes(joint, noise, values)
    assert (np.abs(off) > ODD_AT).tolist() == [i == place for i in range(6)]
    mean, variance = without(joint, noise, values, place)
    assert apart[place] == pytest.approx(wrong - mean, rel=1e-6)
    assert off[place] == pytest.approx((wrong - mean) / variance**0.5, rel=1e-6)
    asked = np.full((1, 6), 0.01), np.array([0.01])
    with_it, _ = given(joint, noise + extra, values, *asked)
    # Its pull is a few thousandths, where the note itself is more than half away.
    assert abs(with_it[0] - mean) < 0.004


# "Not yet": the joint cut off at a bound.


def cut_off(mean: float, variance: float, bound: float) -> tuple[float, float]:
    """Mean and variance of the normal distribution above a bound, by a sum over a fine grid."""
    spread = variance**0.5
    start = max(bound, mean - 12 * spread)
    # Far out the tail falls within a fraction of the spread: a grid as long as the tail is.
    x = start + np.linspace(0.0, 12 * spread / (1.0 + max(bound - mean, 0.0) / spread / 4.0), 400_001)
    weight = np.exp(-((x - mean) ** 2 - (start - mean) ** 2) / (2 * variance))
    weight[0] /= 2  # the trapezoid rule
    weight /= weight.sum()
    middle = float((weight * x).sum())
    return middle, float((weight * (x - middle) ** 2).sum())


def told_above(mean: float, variance: float, bound: float) -> tuple[float, float]:
    """Mean and variance of the normal distribution times the pseudo-note."""
    note = above(mean, variance, bound)
    assert note is not None
    value, noise = note
    together = 1.0 / (1.0 / variance + 1.0 / noise)
    return together * (mean / variance + value / noise), together


@each(st.floats(-0.5, 0.5), st.floats(0.01, 0.3), st.floats(-4.0, 6.0))
@settings(max_examples=60)
def test_above_has_the_mean_and_variance_of_the_law_cut_off(mean: float, spread: float, at: float) -> None:
    bound = mean + at * spread
    middle, variance = told_above(mean, spread**2, bound)
    wanted = cut_off(mean, spread**2, bound)
    assert middle == pytest.approx(wanted[0], abs=2e-4 * spread)
    assert variance == pytest.approx(wanted[1], rel=2e-3)


@pytest.mark.parametrize("at", [6.5, 7.0, 7.5, 7.9, 8.0, 8.5, 10.0, 15.0])
def test_above_holds_far_out_too(at: float) -> None:
    """A bound that the forecast thought impossible: the mean lies just above it, by about 1 / at."""
    middle, variance = told_above(0.0, 1.0, at)
    wanted = cut_off(0.0, 1.0, at)
    assert middle == pytest.approx(wanted[0], abs=0.05)
    assert variance == pytest.approx(wanted[1], rel=0.1)


def test_the_normal_truncated_in_its_middle_is_the_half_normal() -> None:
    """Standard formulas of the truncated normal (Johnson, Kotz & Balakrishnan 1994, from memory)."""
    middle, variance = told_above(0.3, 0.04, 0.3)
    assert middle == pytest.approx(0.3 + 0.2 * (2 / np.pi) ** 0.5)
    assert variance == pytest.approx(0.04 * (1 - 2 / np.pi))


@each(st.floats(-5.9, 6.0))
def test_above_formulas(at: float) -> None:
    """The same source: mean = hazard, variance = 1 - hazard (hazard - at), in standard units."""
    hazard = NormalDist().pdf(at) / NormalDist().cdf(-at)
    middle, variance = told_above(0.0, 1.0, at)
    assert middle == pytest.approx(hazard, abs=1e-5)
    assert variance == pytest.approx(1 - hazard * (hazard - at), rel=1e-3, abs=1e-5)


def test_a_bound_far_below_says_nothing() -> None:
    assert above(0.0, 0.01, -0.61) is None
    assert above(0.0, 0.01, -0.59) is not None


# The checks are seen to fail.


def test_planted_faults_are_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(conditioning, "ODD_AT", 1000.0)
    with pytest.raises(AssertionError):
        test_one_far_note_is_as_if_left_out(0.6, 2)
    monkeypatch.setattr(conditioning, "_UNIT", NormalDist(0.0, 1.1))
    with pytest.raises(AssertionError):
        test_the_normal_truncated_in_its_middle_is_the_half_normal()
