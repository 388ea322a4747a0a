"""Forms of the need: what must gather before a stage comes, and from when.

Each is one of the moments a pack can say, so that what is fitted here is what the planner evaluates. All
events of a chain share one form and differ in the sum they need, so that no two can swap order.
"""

from calendar import isleap
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from care_planner.climate.chill import hours_between
from care_planner.climate.daily_curve import hourly_temperatures
from care_planner.learning.fitting.records import COLUMNS, Seasons, column_of
from care_planner.learning.fitting.spec import Family
from care_planner.stages.reach import Floats

CHILL_LOW_C = -20.0
# Chill that is still not enough by this day is waited for no longer: mild places bloom as well.
GATE_BY = "03-01"


@dataclass(frozen=True)
class NeedForm:
    """One form with its numbers; those a family does not use keep their default.

    `warm_from`: the month-day from which warmth (autumn: cold) is summed; `hours`: instead of it the day
    length (h) that falling days reach. `midpoint_c`, `slope_per_c`: the sigmoid of forcing. `chill_from`,
    `chill_high_c`, `enough`, `times`: hours of chill at most so warm, how many are enough, and by how much
    none at all raises the need. `base_c`: autumn's cold counts below it.
    """

    family: Family
    warm_from: str
    hours: float | None = None
    midpoint_c: float = 12.0
    slope_per_c: float = 0.2
    chill_from: str = "10-01"
    chill_high_c: float = 5.0
    enough: float = 1000.0
    times: float = 1.0
    base_c: float = 20.0

    def is_possible(self) -> bool:
        """Whether the numbers are ones a pack may say."""
        return (
            0.03 <= self.slope_per_c <= 1.0
            and -5.0 <= self.midpoint_c <= 28.0
            and 20.0 <= self.enough <= 4000.0
            and 1.0 <= self.times <= 8.0
            and 3.0 <= self.base_c <= 32.0
            and (self.hours is None or 9.5 <= self.hours <= 14.5)
        )


# What a search moves in each family, and by how much at first.
_CURVE = {"warm_from": 8.0, "midpoint_c": 2.0, "slope_per_c": 0.06}
STEPS: dict[Family, dict[str, float]] = {
    "forcing": _CURVE,
    "forcing-with-chill": _CURVE | {"enough": 300.0, "times": 0.2},
    "chill-then-forcing": _CURVE | {"enough": 200.0},
    "cold": {"warm_from": 8.0, "base_c": 2.0, "hours": 0.4},
}


class Gathering:
    """How far each season has come on each day, for any form; sums are kept between forms that share them."""

    def __init__(self, seasons: Seasons, first: int, last: int, every_hours: int = 1) -> None:
        """`first`, `last`: the columns between which anything is summed (in, out). `every_hours`: how finely
        forcing follows the day; 1 is as the planner sums it, 2 is near enough to search with."""
        self.seasons, self.first, self.last, self.every_hours = seasons, first, last, every_hours
        # Missing days are judged apart; here they are neither warm nor cold.
        self._tmin = np.nan_to_num(seasons.tmin[:, first:last])
        self._tmax = np.nan_to_num(seasons.tmax[:, first:last])
        self._curve: tuple[float, float, int] | None = None
        self._forced = np.zeros(0)
        self._chill: dict[tuple[str, float], Floats] = {}
        self._hourly: tuple[int, NDArray[np.float32]] | None = None
        self._march = column_of(seasons.season, "03-01") if seasons.season != "autumn" else COLUMNS
        self._leap = np.array([int(isleap(int(year))) for year in seasons.years], dtype=np.int64)
        self._mean = (self._tmin + self._tmax) / 2

    def gained(self, form: NeedForm) -> tuple[Floats, int]:
        """What has gathered up to and with each day, [n, days], and the column of its first day."""
        if form.family == "cold":
            return self._cold(form)
        start = column_of(self.seasons.season, form.warm_from)
        forced = self._forcing(form, start)
        if form.family == "forcing":
            return forced, start
        chill = self.chill(form)[:, start - self.first :]
        if form.family == "forcing-with-chill":
            share = np.minimum(chill / form.enough, 1.0)
            return forced / (1.0 + (form.times - 1.0) * (1.0 - share)), start
        gate_by = np.maximum(column_of(self.seasons.season, GATE_BY) + self._leap - start, 0)
        gate = np.where((chill >= form.enough).any(axis=1), (chill >= form.enough).argmax(axis=1), gate_by)
        gate = np.minimum(gate, gate_by)
        before = np.where(gate > 0, forced[np.arange(len(forced)), np.maximum(gate - 1, 0)], 0.0)
        return np.maximum(forced - before[:, None], 0.0), start

    def _forcing(self, form: NeedForm, start: int) -> Floats:
        key = form.midpoint_c, form.slope_per_c, start
        if self._curve != key:
            if self._hourly is None or self._hourly[0] != start:
                cut = slice(start - self.first, None)
                hourly = hourly_temperatures(self._tmin[:, cut], self._tmax[:, cut])[..., :: self.every_hours]
                self._hourly = start, np.ascontiguousarray(hourly, dtype=np.float32)
            steep = self._hourly[1] * np.float32(-form.slope_per_c)
            steep += np.float32(form.slope_per_c * form.midpoint_c)
            np.minimum(steep, np.float32(80.0), out=steep)
            np.exp(steep, out=steep)
            steep += np.float32(1.0)
            np.reciprocal(steep, out=steep)
            daily = steep.mean(axis=-1)
            if start >= self._march:
                # In a leap year the column is 29 February's, a day before the month-day meant.
                daily[self._leap == 1, 0] = 0.0
            self._curve, self._forced = key, np.cumsum(daily, axis=1, dtype=np.float64)
        return self._forced

    def chill(self, form: NeedForm) -> Floats:
        """Hours of chill up to and with each day from `first` on, [n, days]."""
        key = form.chill_from, form.chill_high_c
        if key not in self._chill:
            daily = hours_between(self._tmin, self._tmax, low_c=CHILL_LOW_C, high_c=form.chill_high_c)
            daily[:, : max(column_of(self.seasons.season, form.chill_from) - self.first, 0)] = 0.0
            self._chill[key] = np.cumsum(daily, axis=1, dtype=np.float64)
        return self._chill[key]

    def _cold(self, form: NeedForm) -> tuple[Floats, int]:
        start = column_of(self.seasons.season, form.warm_from)
        cold = np.maximum(form.base_c - self._mean[:, start - self.first :], 0.0)
        if form.hours is not None:
            assert self.seasons.day_length is not None
            cold = np.where(self.seasons.day_length[:, start : self.last] <= form.hours, cold, 0.0)
        return np.cumsum(cold, axis=1), start


def moved(form: NeedForm, name: str, by: float) -> NeedForm:
    """The form with one number moved, or its start by so many whole days."""
    if name == "warm_from":
        # A start by day length has its own number to move.
        days = 0 if form.hours is not None else round(by)
        return replace(form, warm_from=_later(form.warm_from, days))
    value = getattr(form, name)
    return form if value is None else replace(form, **{name: value + by})


def _later(month_day: str, days: int) -> str:
    month, day = (int(part) for part in month_day.split("-"))
    return (date(2023, month, day) + timedelta(days)).strftime("%m-%d")
