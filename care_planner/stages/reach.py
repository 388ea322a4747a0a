"""Searches in daily series, knowing nothing of what the numbers mean.

A member is a weather year with a pace: `rows` gives each member's weather year. Days are columns;
results are column numbers as float64, NEVER (inf) where the thing does not happen, UNKNOWN (nan)
where missing days stand in the way.
"""

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from care_planner.spans import NEVER, UNKNOWN

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
# Columns and counts that are kept: a span of days has some thousands, and many of them are held at once.
COUNT = np.int16
Counts = NDArray[np.int16]


class Running:
    """Running sums of daily values [years, days], with what is missing counted apart.

    `sums[y, d]` is the total of the days before column d, so that the days from a to b (b out) add
    up to `sums[y, b] - sums[y, a]`.
    """

    def __init__(self, daily: Floats) -> None:
        missing = np.isnan(daily)
        years, days = daily.shape
        self.sums = np.zeros((years, days + 1))
        np.cumsum(np.where(missing, 0.0, daily), axis=1, out=self.sums[:, 1:])
        self.gaps = _running_count(missing)
        # One long ascending line, so that a single search serves every year.
        self._lift = float(self.sums[:, -1].max(initial=0.0)) + 1.0
        self._line = (self.sums + np.arange(years)[:, None] * self._lift).ravel()

    @property
    def days(self) -> int:
        """How many days there are."""
        return int(self.sums.shape[1]) - 1

    def first_reaching(self, rows: Ints, starts: Floats, needs: Floats, limit: int) -> Floats:
        """The first day on which the sum from `starts` (in) has reached `needs`, before column `limit`.

        Daily values must not be negative. Rounding is given 1e-9.
        """
        begin, usable = _columns(starts, self.days)
        targets = self.sums[rows, begin] + needs - 1e-9
        reachable = targets <= self.sums[rows, -1]
        places = np.searchsorted(self._line, np.where(reachable, targets, 0.0) + rows * self._lift)
        found = places - rows * (self.days + 1) - 1
        found = np.maximum(found, begin)
        inside = reachable & (found < limit)
        return self._answer(rows, starts, begin, found, inside & usable, limit)

    def last_leaving(self, rows: Ints, ends: Floats, needs: Floats, earliest: int) -> Floats:
        """The last day from which (in) the sum up to `ends` (out) is still at least `needs`.

        -inf where not even the days from column `earliest` on suffice.
        """
        end, usable = _columns(np.minimum(ends, float(self.days)), self.days)
        targets = self.sums[rows, end] - needs + 1e-9
        enough = targets >= self.sums[rows, np.minimum(earliest, end)]
        places = np.searchsorted(self._line, np.where(enough, targets, 0.0) + rows * self._lift, side="right")
        found = np.clip(places - rows * (self.days + 1) - 1, earliest, None)
        result = np.where(enough, found.astype(np.float64), -np.inf)
        # What is missing before the day found has no say.
        begin = np.minimum(np.where(enough, found, earliest), end)
        result[(self.gaps[rows, end] > self.gaps[rows, begin]) | ~usable] = UNKNOWN
        return result

    def between(self, rows: Ints, starts: Floats, ends: Floats) -> Floats:
        """The sum from `starts` (in) to `ends` (out)."""
        begin, _ = _columns(starts, self.days)
        end, _ = _columns(ends, self.days)
        result = self.sums[rows, end] - self.sums[rows, begin]
        result[np.isnan(starts) | np.isnan(ends) | (self.gaps[rows, end] > self.gaps[rows, begin])] = UNKNOWN
        return np.asarray(result)

    def _answer(
        self, rows: Ints, starts: Floats, begin: Ints, found: Ints, inside: Bools, limit: int
    ) -> Floats:
        end = np.where(inside, found + 1, min(limit, self.days))
        gaps = self.gaps[rows, np.maximum(end, begin)] - self.gaps[rows, begin]
        result = np.where(inside, found.astype(np.float64), NEVER)
        result[(gaps > 0) & (starts < NEVER)] = UNKNOWN
        result[np.isnan(starts)] = UNKNOWN
        return result


class Marks:
    """Days [years, days] on which something holds, for finding the next or the last of them."""

    def __init__(self, holds: Bools, missing: Bools) -> None:
        self._holds = holds
        self.gaps = _running_count(missing)
        self.days = holds.shape[1]

    @cached_property
    def _next(self) -> Counts:
        """For each column the first such day at or after it, else the number of days."""
        found = np.full((len(self._holds), self.days + 1), self.days, dtype=COUNT)
        far = np.where(self._holds, np.arange(self.days, dtype=COUNT), COUNT(self.days))
        found[:, :-1] = np.minimum.accumulate(far[:, ::-1], axis=1)[:, ::-1]
        return found

    @cached_property
    def _last(self) -> Counts:
        """For each column the last such day before it, else -1."""
        found = np.full((len(self._holds), self.days + 1), -1, dtype=COUNT)
        near = np.where(self._holds, np.arange(self.days, dtype=COUNT), COUNT(-1))
        found[:, 1:] = np.maximum.accumulate(near, axis=1)
        return found

    def first_from(self, rows: Ints, starts: Floats, limit: int) -> Floats:
        """The first such day at or after `starts` and before column `limit`."""
        begin, usable = _columns(starts, self.days)
        found = self._next[rows, begin]
        inside = usable & (found < min(limit, self.days))
        end = np.where(inside, found, np.maximum(min(limit, self.days), begin))
        result = np.where(inside, found.astype(np.float64), NEVER)
        result[(self.gaps[rows, end] > self.gaps[rows, begin]) & (starts < NEVER)] = UNKNOWN
        result[np.isnan(starts)] = UNKNOWN
        return result

    def last_before(self, rows: Ints, end: int, earliest: int) -> Floats:
        """The last such day before column `end`, at or after `earliest`; -inf where there is none."""
        end, earliest = min(max(end, 0), self.days), min(max(earliest, 0), self.days)
        found = self._last[rows, end]
        result = np.where(found >= earliest, found.astype(np.float64), -np.inf)
        begin = np.maximum(found, earliest)
        result[self.gaps[rows, end] > self.gaps[rows, begin]] = UNKNOWN
        return result


class Lows:
    """The coldest so far of some days [years, days]: any limit finds its first and last day at once.

    Many trees have a limit of their own, and one search through the days of every year serves them all.
    """

    def __init__(self, values: Floats) -> None:
        missing = np.isnan(values)
        self.days = values.shape[1]
        known = np.where(missing, np.inf, values)
        self._so_far = np.minimum.accumulate(known, axis=1)
        self._to_come = np.minimum.accumulate(known[:, ::-1], axis=1)
        self._first_gap = _days_before_any(missing)
        self._last_gap = self.days - 1 - _days_before_any(missing[:, ::-1])

    def first_at(self, limit: float) -> Floats:
        """The first day at or under a limit in each year or NEVER; UNKNOWN where one before is missing."""
        found = np.count_nonzero(self._so_far > limit, axis=1)
        result = np.where(found < self.days, found.astype(np.float64), NEVER)
        result[self._first_gap < found] = UNKNOWN
        return result

    def last_at(self, limit: float) -> Floats:
        """The last day at or under a limit in each year, or -inf; UNKNOWN where one after it is missing."""
        found = self.days - 1 - np.count_nonzero(self._to_come > limit, axis=1)
        result = np.where(found >= 0, found.astype(np.float64), -np.inf)
        result[self._last_gap >= np.maximum(found, 0)] = UNKNOWN
        return result


def _days_before_any(flags: Bools) -> Ints:
    """How many days of each row come before the first flagged one; all of them where there is none."""
    return np.asarray(np.count_nonzero(~np.logical_or.accumulate(flags, axis=1), axis=1))


def runs(holds: Bools, length: int) -> Bools:
    """Where a run of at least `length` days holding ends or goes on."""
    if length == 1:
        return holds
    count = _running_count(holds)
    long = np.zeros_like(holds)
    long[:, length - 1 :] = count[:, length:] - count[:, :-length] == length
    return long


def within(flags: Bools, length: int) -> Bools:
    """Where any of the last `length` days, this one among them, is flagged."""
    count = _running_count(flags)
    days = np.arange(1, flags.shape[1] + 1)
    return np.asarray(count[:, 1:] > count[:, np.maximum(days - length, 0)])


def _running_count(flags: Bools) -> Counts:
    count = np.zeros((flags.shape[0], flags.shape[1] + 1), dtype=COUNT)
    np.cumsum(flags, axis=1, dtype=COUNT, out=count[:, 1:])
    return count


def _columns(days: Floats, last: int) -> tuple[Ints, Bools]:
    """Column numbers inside the array, and which of the days asked for can be searched from."""
    usable = ~np.isnan(days) & (days < NEVER)
    inside = np.clip(np.where(usable, days, last), 0, last)
    return np.ceil(inside).astype(np.int64), usable
