"""The weather a tree feels, year by year: that of the bench it stands on each day.

Everything derived from temperature (warmth, chill, nights) is computed once for each bench and
kept; a tree that moved between benches takes its days from one and then the other.
"""

from collections.abc import Mapping, Sequence
from typing import Protocol

import numpy as np

from care_planner.climate.benches import on_bench
from care_planner.climate.chill import hours_between, utah_units
from care_planner.climate.degree_days import degree_days
from care_planner.climate.forcing import sigmoid_forcing
from care_planner.climate.weather_years import WeatherYears
from care_planner.rulebook.moment import Chill, Held, Warmth
from care_planner.stages.reach import Floats, Lows, Marks, Running, runs, within

Quantity = Warmth | Chill | str  # a model of warmth or chill, or "mean", "max", "min" of temperature


class BenchLike(Protocol):
    """What is asked of a bench of the collection (degC)."""

    @property
    def offset_c(self) -> float: ...
    @property
    def floor_c(self) -> float | None: ...
    @property
    def vent_c(self) -> float | None: ...


class Weather:
    """Daily values [years, days] on one bench or one sequence of benches; column 0 is `first_day`."""

    def __init__(self, first_day: int) -> None:
        self.first_day = first_day
        self._running: dict[Quantity, Running] = {}
        self._marks: dict[tuple[str, float, bool, int], Marks] = {}
        self._nights: dict[tuple[int, int], Lows] = {}

    def daily(self, quantity: Quantity) -> Floats:
        """The daily values of a quantity."""
        raise NotImplementedError

    def running(self, quantity: Quantity) -> Running:
        """Running sums of a quantity; negative chill is not counted against what is there."""
        if quantity not in self._running:
            self._running[quantity] = Running(self.daily(quantity))
        return self._running[quantity]

    def held(self, held: Held) -> Marks:
        """The days on which a temperature has been held for so many days."""
        below = held.at_most_c is not None
        limit = held.at_most_c if held.at_most_c is not None else held.at_least_c
        assert limit is not None
        return self._marks_of(held.of, limit, below, held.days)

    def nights(self, first: int, end: int) -> Lows:
        """The nights of the columns from `first` (in) to `end` (out); the first of them is column 0."""
        if (first, end) not in self._nights:
            self._nights[first, end] = Lows(self.daily("min")[:, max(first, 0) : max(end, 0)])
        return self._nights[first, end]

    def _marks_of(self, of: str, limit: float, below: bool, days: int) -> Marks:
        key = (of, limit, below, days)
        if key not in self._marks:
            values = self.daily(of)
            holds = values <= limit if below else values >= limit
            # A missing day leaves open whether any run of days that it lies in would have held.
            self._marks[key] = Marks(runs(holds, days), within(np.isnan(values), days))
        return self._marks[key]


class BenchWeather(Weather):
    """The weather years as felt on one bench."""

    def __init__(self, years: WeatherYears, bench: BenchLike) -> None:
        super().__init__(years.first_day)
        self._tmin, self._tmax = on_bench(
            years.tmin_c, years.tmax_c, offset_c=bench.offset_c, floor_c=bench.floor_c, vent_c=bench.vent_c
        )
        self._daily: dict[Quantity, Floats] = {}

    def daily(self, quantity: Quantity) -> Floats:
        if quantity not in self._daily:
            self._daily[quantity] = self._compute(quantity)
        return self._daily[quantity]

    def _compute(self, quantity: Quantity) -> Floats:
        if isinstance(quantity, Warmth):
            return _warmth(self._tmin, self._tmax, quantity)
        if isinstance(quantity, Chill):
            return _chill(self._tmin, self._tmax, quantity)
        if quantity == "mean":
            return np.asarray((self._tmin + self._tmax) / 2)
        return self._tmin if quantity == "min" else self._tmax


class TrackWeather(Weather):
    """The weather along a sequence of benches: `moves` are (column, bench name), in order of days."""

    def __init__(self, benches: Mapping[str, Weather], start: str, moves: Sequence[tuple[int, str]]) -> None:
        super().__init__(benches[start].first_day)
        self._benches = benches
        self._moves = [(0, start), *moves]

    def daily(self, quantity: Quantity) -> Floats:
        values = self._benches[self._moves[0][1]].daily(quantity).copy()
        for column, bench in self._moves[1:]:
            column = max(0, column)
            values[:, column:] = self._benches[bench].daily(quantity)[:, column:]
        return values


def _warmth(tmin: Floats, tmax: Floats, by: Warmth) -> Floats:
    if by.method == "sigmoid":
        assert by.midpoint_c is not None and by.slope_per_c is not None
        return sigmoid_forcing(tmin, tmax, midpoint_c=by.midpoint_c, slope_per_c=by.slope_per_c)
    assert by.base_c is not None
    if by.method == "cold":
        return np.asarray(np.maximum(by.base_c - (tmin + tmax) / 2, 0.0))
    return degree_days(tmin, tmax, method=by.method, lower=by.base_c, upper=by.upper_c)


def _chill(tmin: Floats, tmax: Floats, by: Chill) -> Floats:
    if by.method == "utah":
        return utah_units(tmin, tmax, positive_only=True)
    assert by.low_c is not None and by.high_c is not None
    return hours_between(tmin, tmax, low_c=by.low_c, high_c=by.high_c)
