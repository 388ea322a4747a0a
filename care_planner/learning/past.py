"""Past seasons with their real weather: which pace a stage seen on a day speaks of.

Nothing is inverted by formula: the stage is evaluated as the plan evaluates it, on the weather of that
season, for a grid of paces, and the day is looked up.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from care_planner.climate.gaps import fill_temperatures
from care_planner.climate.record import WeatherRecord
from care_planner.climate.weather_years import WeatherYears
from care_planner.rulebook.effect import Effect
from care_planner.rulebook.pack import TaxonRules
from care_planner.rulebook.taxon import BloomCurve
from care_planner.spans import NEVER, is_south, season_of, season_start
from care_planner.stages.history import History
from care_planner.stages.moments import (
    DAYS_OF_GRACE,
    LONG_AGO,
    Frame,
    NightLimit,
    day_lengths,
    first_night,
    last_night,
)
from care_planner.stages.reach import Floats, Ints
from care_planner.stages.stage import effects_on, stage_days
from care_planner.stages.weather import BenchLike, BenchWeather, TrackWeather, Weather

# Paces from a third to three times the taxon's, 2 % apart: one to two days in spring.
GRID = np.linspace(-1.1, 1.1, 111)
LAG_DAYS = 5
_HALF_WEEK = 3.5
_DAYS_BEFORE = 366
_DAYS = _DAYS_BEFORE + 366 + DAYS_OF_GRACE


@dataclass(frozen=True)
class Track:
    """Where a tree stood: the bench at first, and (days after the season's midwinter, bench), in order."""

    bench: str
    moves: tuple[tuple[int, str], ...] = ()


class PastWeather:
    """The seasons of a record as rows, on every bench; what is derived is computed once.

    Column 0 is `first_offset` days after a season's midwinter (before it where negative). Days outside the
    record are missing. `until`: days from it on (ordinal) are not looked at.
    """

    first_offset = -_DAYS_BEFORE

    def __init__(
        self, record: WeatherRecord, latitude: float, benches: Mapping[str, BenchLike], until: int
    ) -> None:
        self.latitude, self.south, self.until = latitude, is_south(latitude), until
        end = min(record.end_day, until)
        last = season_of(max(end - 1, record.first_day), self.south)
        self.seasons = range(season_of(record.first_day, self.south), last + 1)
        known = max(end - record.first_day, 0)
        places = self._places(record.first_day, known)
        filled = fill_temperatures(record.tmin_c[:known], record.tmax_c[:known], record.tmean_c[:known])
        tmin, tmax, tmean = (np.append(values, [np.nan, np.nan])[places] for values in filled)
        # A day's warmth looks at the next night: the last known day takes its own for it.
        tmin[places == known] = filled[0][-1] if known else np.nan
        unobserved = np.zeros(_DAYS, dtype=np.bool_)
        years = WeatherYears(
            self.first_offset, tmin, tmax, tmean, tuple(self.seasons), (), self.first_offset, unobserved
        )
        self._benches: dict[str, Weather] = {
            name: BenchWeather(years, bench) for name, bench in sorted(benches.items())
        }
        self._tracks: dict[Track, Weather] = {}
        self._day_lengths: Floats | None = None

    def _places(self, first_day: int, known: int) -> Ints:
        """Where in the record each row finds its days: `known` for the day after the last, else one more."""
        starts = np.array([season_start(season, self.south) for season in self.seasons])
        places = starts[:, None] + self.first_offset + np.arange(_DAYS)[None, :] - first_day
        return np.where((places < 0) | (places > known), known + 1, places)

    def on(self, track: Track) -> Weather:
        """The weather along a track."""
        if not track.moves:
            return self._benches[track.bench]
        if track not in self._tracks:
            moves = [(day - self.first_offset, bench) for day, bench in track.moves]
            self._tracks[track] = TrackWeather(self._benches, track.bench, moves)
        return self._tracks[track]

    def frame(self, season: int, members: int) -> Frame:
        """The span of one season, all members in its own weather."""
        first_day = season_start(season, self.south) + self.first_offset
        if self._day_lengths is None:
            # A day's length is the same in every year, to a few seconds.
            self._day_lengths = day_lengths(self.latitude, first_day, _DAYS)
        rows = np.full(members, season - self.seasons.start, dtype=np.int64)
        return Frame(self.south, self.latitude, season, first_day, _DAYS, rows, self._day_lengths)


class PastSeason:
    """One tree in one past season, for a given pace in each member: a View for moments."""

    def __init__(
        self,
        frame: Frame,
        weather: Weather,
        rules: TaxonRules,
        history: History,
        pace: Floats,
        variety: float,
    ) -> None:
        self.frame, self.home, self.history = frame, weather, history
        self._rules, self._pace, self._variety = rules, pace, variety

    @property
    def curve(self) -> BloomCurve | None:
        """The taxon's bloom curve."""
        return self._rules.taxon.bloom_curve

    def pace_of(self, stage: str, step: int) -> Floats:
        """The paces tried, the same for every stage but for its variety's share."""
        flowers = stage in self._rules.stages and self._rules.stages[stage].flowering
        return self._pace * self._variety if flowers else self._pace

    def weather(self, step: int) -> Weather:
        """Where it stood."""
        return self.home

    def stage(self, id: str, step: int) -> Floats:
        """A stage as it was seen, or as it comes of the weather and of the work that had set it back."""
        return stage_days(self._rules.stages[id], step, self, self.history, self._set_back(id, step), True)

    def _set_back(self, id: str, step: int) -> Iterator[tuple[Effect, float]]:
        for rule, at, effect in effects_on(id, step, self._rules):
            done = self.history.works.get((rule, self.frame.season + at))
            if effect.sets_back is not None and done:
                yield effect, float(min(done))

    def work(self, id: str, step: int) -> Floats:
        """The first day of a work noted in the season, else NEVER."""
        days = self.history.works.get((id, self.frame.season + step))
        return self.frame.everywhere(min(days) if days else NEVER)

    def last_cut(self, step: int) -> Floats:
        """Cuts are not looked for: what waits for them is not learnt from."""
        return self.frame.everywhere(LONG_AGO)

    def sign(self, id: str, step: int) -> Floats:
        """The day a sign was noted in a season, else NEVER."""
        return self.frame.everywhere(self.history.signs.get((id, self.frame.season + step), NEVER))

    def noted_work(self, id: str, step: int) -> Floats:
        """As `work`: nothing is planned in the past."""
        return self.work(id, step)

    def opened(self, step: int) -> tuple[tuple[int, float], ...]:
        """None: a pace tried must be free to give another day than the one noted."""
        return ()

    def first_night(self, at_most_c: NightLimit, step: int) -> Floats:
        """The first cold night; a limit of its own is that of a hardened tree."""
        return first_night(self._limit_c(at_most_c), step, self.frame, self.home)

    def last_night(self, at_most_c: NightLimit, step: int) -> Floats:
        """The last cold night."""
        return last_night(self._limit_c(at_most_c), step, self.frame, self.home)

    def _limit_c(self, at_most_c: NightLimit) -> float:
        return self._rules.taxon.frost_limit_c.hardened if isinstance(at_most_c, str) else at_most_c


@dataclass(frozen=True)
class PaceReading:
    """What a day says: the log of the pace and by how much it changes from one day to the next; how many days
    after the taxon's own day it lies (`late_days`), and the change a day there (`per_day_at_taxon`)."""

    log_pace: float
    per_day: float
    late_days: float
    per_day_at_taxon: float


def read_pace(day: float, days: Floats) -> PaceReading | None:
    """The pace that brings a stage on a day (ordinal), from the `days` of every pace (`days_by_pace`).

    None where the day says nothing. A day outside of what any pace on the grid gives reads as the end of the
    grid. Where the weather is known up to a few days before the day only (`LAG_DAYS`), the last days' rate
    goes on.
    """
    finite = np.isfinite(days)
    if not finite.any():
        return None
    beyond = day - float(days[finite].max())
    ends = bool(np.isnan(days).any())
    if ends and beyond > LAG_DAYS:
        return None
    reading = _look_up(day, days[finite], GRID[finite])
    if reading is not None and ends and beyond > 0:
        return replace(reading, log_pace=reading.log_pace + beyond * reading.per_day)
    return reading


def days_by_pace(
    stage: str,
    season: int,
    weather: PastWeather,
    track: Track,
    rules: TaxonRules,
    others: History,
    variety: float,
) -> Floats:
    """The day of a stage in a past season for every pace of the grid.

    `others` holds what was seen of the tree's other stages that season.
    """
    frame = weather.frame(season, len(GRID))
    view = PastSeason(frame, weather.on(track), rules, others, np.exp(GRID), variety)
    return view.stage(stage, 0)


def _look_up(day: float, days: Floats, grid: Floats) -> PaceReading | None:
    """Days rise with the pace in steps: each distinct day stands for the middle of its paces."""
    distinct, first, count = np.unique(days, return_index=True, return_counts=True)
    if len(distinct) < 3:
        return None
    middles = (grid[first] + grid[first + count - 1]) / 2
    taxon_day = float(np.interp(0.0, middles, distinct))
    return PaceReading(
        float(np.interp(day, distinct, middles)),
        _slope(day, distinct, middles),
        day - taxon_day,
        _slope(taxon_day, distinct, middles),
    )


def _slope(day: float, distinct: Floats, middles: Floats) -> float:
    """The change of log pace a day, over a week around a day: one day is finer than the grid."""
    ends = np.clip([day - _HALF_WEEK, day + _HALF_WEEK], distinct[0], distinct[-1])
    if ends[0] == ends[1]:
        ends = distinct[[0, 1]] if day <= distinct[0] else distinct[[-2, -1]]
    low, high = np.interp(ends, distinct, middles)
    return float((high - low) / (ends[1] - ends[0]))
