"""A tree's view of weather written by hand, so that every answer can be found on paper."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np

from care_planner.climate.weather_years import WeatherYears
from care_planner.collection.site import Bench
from care_planner.rulebook.moment import Moment
from care_planner.rulebook.taxon import BloomCurve
from care_planner.spans import NEVER
from care_planner.stages.moments import (
    LONG_AGO,
    Frame,
    NightLimit,
    day_lengths,
    evaluate,
    first_night,
    last_night,
)
from care_planner.stages.reach import Floats
from care_planner.stages.weather import BenchWeather, Weather

SEASON = 2021
FIRST, END = date(2019, 7, 1).toordinal(), date(2024, 1, 1).toordinal()


def day(text: str) -> int:
    """An ISO date as an ordinal."""
    return date.fromisoformat(text).toordinal()


def frame(latitude: float = 50.0, members: int = 1) -> Frame:
    """Members that all have the first weather year."""
    lengths = day_lengths(latitude, FIRST, END - FIRST)
    rows = np.zeros(members, dtype=np.int64)
    return Frame(latitude < 0, latitude, SEASON, FIRST, END - FIRST, rows, lengths)


def weather(of: Callable[[date], tuple[float, float]], bench: Bench | None = None) -> BenchWeather:
    """One weather year: the Tmin and Tmax (degC) of each date of the span."""
    pairs = np.array([of(date.fromordinal(day)) for day in range(FIRST, END)])
    tmin, tmax = pairs[None, :, 0], pairs[None, :, 1]
    observed = np.zeros(END - FIRST, dtype=np.bool_)
    years = WeatherYears(FIRST, tmin, tmax, (tmin + tmax) / 2, (2000,), (), FIRST, observed)
    return BenchWeather(years, bench or Bench())


def mild(day: date) -> tuple[float, float]:
    """10 to 20 degC every day."""
    return 10.0, 20.0


@dataclass(frozen=True, eq=False)
class HandMade:
    """A View: what a moment may ask about a tree."""

    frame: Frame
    outside: Weather
    stands_in: Weather | None = None
    pace: Floats = field(default_factory=lambda: np.ones(1))
    curve: BloomCurve | None = None
    stages: dict[tuple[str, int], float] = field(default_factory=dict)
    works: dict[tuple[str, int], float] = field(default_factory=dict)
    signs: dict[tuple[str, int], float] = field(default_factory=dict)
    cuts: dict[int, float] = field(default_factory=dict)
    limit_c: float = -3.0
    shares: dict[int, tuple[tuple[int, float], ...]] = field(default_factory=dict)

    def pace_of(self, stage: str, step: int) -> Floats:
        return self.pace

    def weather(self, step: int) -> Weather:
        return self.stands_in or self.outside

    def stage(self, id: str, step: int) -> Floats:
        return self.frame.everywhere(self.stages.get((id, step), np.nan))

    def work(self, id: str, step: int) -> Floats:
        return self.frame.everywhere(self.works.get((id, step), NEVER))

    def last_cut(self, step: int) -> Floats:
        return self.frame.everywhere(self.cuts.get(step, LONG_AGO))

    def sign(self, id: str, step: int) -> Floats:
        return self.frame.everywhere(self.signs.get((id, step), NEVER))

    def noted_work(self, id: str, step: int) -> Floats:
        return self.work(id, step)

    def opened(self, step: int) -> tuple[tuple[int, float], ...]:
        return self.shares.get(step, ())

    def first_night(self, at_most_c: NightLimit, step: int) -> Floats:
        return first_night(self._limit_c(at_most_c), step, self.frame, self.outside)

    def last_night(self, at_most_c: NightLimit, step: int) -> Floats:
        return last_night(self._limit_c(at_most_c), step, self.frame, self.outside)

    def _limit_c(self, at_most_c: NightLimit) -> float:
        return self.limit_c if isinstance(at_most_c, str) else at_most_c


def view(of: Callable[[date], tuple[float, float]] = mild, **more: object) -> HandMade:
    """A view of one tree on weather by date."""
    made = HandMade(frame(), weather(of))
    return replace(made, **more)  # type: ignore[arg-type]


def moment(**said: object) -> Moment:
    """A moment as a pack says it, scalars as text."""
    return Moment.model_validate(_texts(said))


def _texts(value: object) -> object:
    if isinstance(value, dict):
        return {key: _texts(part) for key, part in value.items()}
    if isinstance(value, list):
        return [_texts(part) for part in value]
    return str(value)


def when(view: HandMade, step: int = 0, **said: object) -> str | float:
    """The day of a moment as an ISO date, or NEVER, -inf or nan where there is none."""
    found = float(evaluate(moment(**said), step, view)[0])
    return date.fromordinal(int(found)).isoformat() if np.isfinite(found) else found
