"""Searches in daily series, each held against a loop that a person can follow day by day."""

import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from care_planner.spans import NEVER, UNKNOWN
from care_planner.stages import reach
from care_planner.stages.reach import Floats, Lows, Marks, Running, runs, within

NAN = math.nan
# Half units add up without rounding; None is a missing day.
VALUES = st.sampled_from([0.0, 0.0, 0.5, 1.0, 2.5, NAN])
DAYS = 12


@st.composite
def daily(draw: st.DrawFn) -> Floats:
    years = draw(st.integers(1, 3))
    return np.array([[draw(VALUES) for _ in range(DAYS)] for _ in range(years)])


starts = st.one_of(st.integers(-2, DAYS + 2).map(float), st.sampled_from([NEVER, NAN, -math.inf]))


def same(found: Floats, wanted: list[float]) -> None:
    np.testing.assert_array_equal(found, np.array(wanted))


def first_reaching(values: Floats, start: float, need: float, limit: int) -> float:
    if math.isnan(start):
        return UNKNOWN
    if start == NEVER:
        return NEVER
    begin = int(min(max(start, 0), DAYS))
    total, gap = 0.0, False
    for day in range(begin, min(limit, DAYS)):
        gap = gap or math.isnan(values[day])
        total += 0.0 if math.isnan(values[day]) else values[day]
        if total >= need:
            return UNKNOWN if gap else float(day)
    return UNKNOWN if gap else NEVER


@settings(max_examples=150)
@given(
    daily(), st.lists(starts, min_size=1, max_size=4), st.sampled_from([0.5, 1.0, 3.0]), st.integers(1, 15)
)
def test_first_day_on_which_a_sum_is_reached(
    values: Floats, begins: list[float], need: float, limit: int
) -> None:
    rows = np.arange(len(begins)) % len(values)
    found = Running(values).first_reaching(rows, np.array(begins), np.full(len(begins), need), limit)
    same(found, [first_reaching(values[r], b, need, limit) for r, b in zip(rows, begins, strict=True)])


def last_leaving(values: Floats, end: float, need: float, earliest: int) -> float:
    if math.isnan(end):
        return UNKNOWN
    last = int(min(max(end, 0), DAYS))
    total, gap = 0.0, False
    for day in range(last - 1, min(earliest, last) - 1, -1):
        gap = gap or math.isnan(values[day])
        total += 0.0 if math.isnan(values[day]) else values[day]
        if total >= need:
            return UNKNOWN if gap else float(day)
    return UNKNOWN if gap else -math.inf


@settings(max_examples=150)
@given(
    daily(), st.lists(starts, min_size=1, max_size=4), st.sampled_from([0.5, 1.0, 3.0]), st.integers(0, DAYS)
)
def test_last_day_that_leaves_a_sum(values: Floats, ends: list[float], need: float, earliest: int) -> None:
    rows = np.arange(len(ends)) % len(values)
    wanted = [
        last_leaving(values[r], DAYS if e == NEVER else e, need, earliest)
        for r, e in zip(rows, ends, strict=True)
    ]
    found = Running(values).last_leaving(rows, np.array(ends), np.full(len(ends), need), earliest)
    same(found, wanted)


@given(daily(), st.integers(0, DAYS), st.integers(0, DAYS))
def test_sum_between_two_days(values: Floats, start: int, end: int) -> None:
    rows = np.zeros(1, dtype=np.int64)
    found = Running(values).between(rows, np.array([float(start)]), np.array([float(max(start, end))]))
    same(found, [float(np.sum(values[0, start : max(start, end)]))])


def test_sums_never_fall_and_years_do_not_reach_into_one_another() -> None:
    running = Running(np.array([[5.0, 5.0], [0.0, 0.0]]))
    assert (np.diff(running.sums, axis=1) >= 0).all()
    found = running.first_reaching(np.array([0, 1]), np.zeros(2), np.array([11.0, 1.0]), 2)
    same(found, [NEVER, NEVER])


def first_marked(holds: Floats, missing: Floats, start: float, limit: int) -> float:
    if math.isnan(start):
        return UNKNOWN
    if start == NEVER:
        return NEVER
    for day in range(int(min(max(start, 0), DAYS)), min(limit, DAYS)):
        if holds[day]:
            return float(day)
        if missing[day]:
            return UNKNOWN
    return NEVER


def last_marked(holds: Floats, missing: Floats, end: int, earliest: int) -> float:
    for day in range(min(end, DAYS) - 1, earliest - 1, -1):
        if holds[day]:
            return float(day)
        if missing[day]:
            return UNKNOWN
    return -math.inf


@settings(max_examples=150)
@given(daily(), starts, st.integers(0, 14), st.integers(0, DAYS))
def test_next_and_last_marked_day(values: Floats, start: float, limit: int, earliest: int) -> None:
    holds, missing = values >= 1.0, np.isnan(values)
    marks, rows = Marks(holds, missing), np.arange(len(values))
    found = marks.first_from(rows, np.full(len(values), start), limit)
    same(found, [first_marked(h, m, start, limit) for h, m in zip(holds, missing, strict=True)])
    found = marks.last_before(rows, limit, earliest)
    same(found, [last_marked(h, m, limit, earliest) for h, m in zip(holds, missing, strict=True)])


@settings(max_examples=100)
@example(np.zeros((1, DAYS)), 0.0, 0)
@given(daily(), VALUES.filter(lambda limit: not math.isnan(limit)), st.integers(0, DAYS))
def test_first_and_last_day_at_a_limit(values: Floats, limit: float, days: int) -> None:
    lows, rows = Lows(values[:, :days]), range(len(values))
    holds, missing = values <= limit, np.isnan(values)
    same(lows.first_at(limit), [first_marked(holds[row], missing[row], 0, days) for row in rows])
    same(lows.last_at(limit), [last_marked(holds[row], missing[row], days, 0) for row in rows])


@given(st.lists(st.booleans(), min_size=1, max_size=12), st.integers(1, 14))
def test_runs_and_days_within(flags: list[bool], length: int) -> None:
    row = np.array([flags])
    for found, of in ((runs(row, length), all), (within(row, length), any)):
        wanted = []
        for day in range(len(flags)):
            whole = day + 1 >= length
            held = of(flags[max(day + 1 - length, 0) : day + 1])
            wanted.append(held and (whole or of is any))
        assert found.tolist() == [wanted]


def test_a_search_that_starts_a_day_late_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    values, rows = np.ones((1, DAYS)), np.zeros(1, dtype=np.int64)
    wanted = [first_reaching(values[0], 0.0, 2.0, DAYS)]
    same(Running(values).first_reaching(rows, np.zeros(1), np.full(1, 2.0), DAYS), wanted)
    right = reach._columns
    monkeypatch.setattr(reach, "_columns", lambda days, last: right(days + 1, last))
    with pytest.raises(AssertionError):
        same(Running(values).first_reaching(rows, np.zeros(1), np.full(1, 2.0), DAYS), wanted)
