"""The generic searches against loops that do the same day by day."""

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from care_planner.stages.reach import Marks, Running, runs

DAYS = 24
daily = arrays(np.float64, (3, DAYS), elements=st.floats(0, 9, width=32) | st.just(math.nan))
starts = st.lists(
    st.integers(-3, DAYS + 3).map(float) | st.just(math.inf) | st.just(math.nan), min_size=6, max_size=6
).map(np.array)
needs = st.lists(st.floats(0.125, 60, width=32), min_size=6, max_size=6).map(np.array)
rows = st.lists(st.integers(0, 2), min_size=6, max_size=6).map(np.array)


def same(a: float, b: float) -> bool:
    return a == b or (math.isnan(a) and math.isnan(b))


def first_reaching(values: np.ndarray, start: float, need: float, limit: int) -> float:
    if math.isnan(start):
        return math.nan
    if start == math.inf:
        return math.inf
    total = 0.0
    for day in range(max(0, int(start)), min(limit, DAYS)):
        if math.isnan(values[day]):
            return math.nan
        total += values[day]
        if total >= need - 1e-9:
            return float(day)
    return math.inf


@settings(max_examples=300)
@given(daily, rows, starts, needs, st.integers(1, DAYS))
def test_first_reaching(
    values: np.ndarray, rows: np.ndarray, starts: np.ndarray, needs: np.ndarray, limit: int
) -> None:
    found = Running(values).first_reaching(rows, starts, needs, limit)
    for i, row in enumerate(rows):
        want = first_reaching(values[row], starts[i], needs[i], limit)
        # A start past the end of the days looked at finds nothing, gaps or not.
        assert same(found[i], want), (i, found[i], want)


@settings(max_examples=200)
@given(daily.map(lambda v: np.nan_to_num(v)), rows, st.integers(2, DAYS), needs, st.integers(0, 5))
def test_last_leaving(
    values: np.ndarray, rows: np.ndarray, end: int, needs: np.ndarray, earliest: int
) -> None:
    ends = np.full(6, float(end))
    found = Running(values).last_leaving(rows, ends, needs, earliest)
    for i, row in enumerate(rows):
        days = [d for d in range(earliest, end) if values[row, d:end].sum() >= needs[i] - 1e-9]
        if earliest >= end:
            continue
        assert found[i] == (max(days) if days else -math.inf), (i, found[i], days)


@settings(max_examples=200)
@given(arrays(np.bool_, (3, DAYS)), rows, starts, st.integers(1, DAYS), st.integers(1, 4))
def test_runs_and_marks(
    holds: np.ndarray, rows: np.ndarray, starts: np.ndarray, limit: int, length: int
) -> None:
    long = runs(holds, length)
    marks = Marks(long, np.zeros_like(holds))
    found = marks.first_from(rows, starts, limit)
    last = marks.last_before(rows, limit, 2)
    for i, row in enumerate(rows):
        days = [d for d in range(length - 1, DAYS) if holds[row, d - length + 1 : d + 1].all()]
        if math.isnan(starts[i]):
            assert math.isnan(found[i])
        else:
            after = [d for d in days if d >= starts[i] and d < limit]
            assert found[i] == (after[0] if after else math.inf)
        before = [d for d in days if 2 <= d < limit]
        assert last[i] == (before[-1] if before else -math.inf)


def test_a_gap_before_the_day_is_unknown_and_after_it_is_not() -> None:
    values = np.array([[1.0, 1.0, 1.0, math.nan, 1.0, 1.0]])
    running = Running(values)
    rows = np.zeros(3, dtype=np.int64)
    found = running.first_reaching(rows, np.zeros(3), np.array([2.0, 3.0, 4.0]), 6)
    assert list(found[:2]) == [1.0, 2.0]
    assert math.isnan(found[2])


def test_a_gap_before_a_cold_night_is_unknown() -> None:
    cold = np.array([[False, False, True, False]])
    rows = np.zeros(1, dtype=np.int64)
    missing = np.array([[False, True, False, False]])
    assert math.isnan(Marks(cold, missing).first_from(rows, np.zeros(1), 4)[0])
    assert Marks(cold, missing).first_from(rows, np.full(1, 2.0), 4)[0] == 2.0
