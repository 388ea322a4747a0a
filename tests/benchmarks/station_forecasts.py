"""Forecasts of one station's events, on every line of `forecast_skill.py`, as a plan makes them."""

import sys
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
from fit_korean_azalea import EVENTS, rows_of

from care_planner.climate.record import WeatherRecord, daily_record
from care_planner.climate.trend import warming, without_warming
from care_planner.climate.weather_years import lay_weather_years
from care_planner.collection.site import Bench
from care_planner.learning.learn import learn
from care_planner.learning.notes import Note, TreeNotes, notes_of
from care_planner.learning.pace_belief import NOTHING_LEARNT, PaceBelief, paces_in_row
from care_planner.learning.past import PastSeason, PastWeather, Track
from care_planner.rulebook.pack import TaxonRules
from care_planner.stages.history import History
from care_planner.stages.members import PACES, TOO_FEW_YEARS, member_rows, member_scores, quantile
from care_planner.stages.moments import Frame, day_lengths
from care_planner.stages.reach import Floats
from care_planner.stages.stage import stage_days
from care_planner.stages.weather import BenchWeather, Weather

LATITUDE = 37.0  # of no weight: no stage of the pack that is forecast looks at day length
BENCH = "open"
FEWEST_SEASONS = 20
OWN_SEASONS = (0, 1, 2, 3, 5, 10)
MADE_WITH_SEASONS = 5
NO_HISTORY = History()
EARLIER = {"first_flower": "bud_burst", "full_bloom": "first_flower"}
# Paces of a season whose weather is known: as many as a plan of 33 years has members.
KNOWN_PACES = 33 * PACES
# Mean day of year of the sites the pack was fitted on.
MEAN_DAY = {"bud_burst": 76.5, "first_flower": 88.8, "full_bloom": 95.6}


@dataclass(frozen=True)
class Forecast:
    """One forecast beside what came."""

    line: str
    event: str
    station: str
    year: int
    p10: int
    p50: int
    p90: int
    came: int
    own_mean: float  # day of year; nan where there is none


@dataclass(frozen=True)
class Asked:
    """An event of a year, and the day it came."""

    event: str
    year: int
    came: int


class View(PastSeason):
    """One tree in one season, its paces from what is believed of it."""

    def __init__(
        self,
        frame: Frame,
        weather: Weather,
        rules: TaxonRules,
        history: History,
        belief: PaceBelief,
        scores: Floats,
    ) -> None:
        super().__init__(frame, weather, rules, history, scores, 1.0)
        self.belief, self.rules, self.scores = belief, rules, scores

    def pace_of(self, stage: str, step: int) -> Floats:
        """Paces as TreeYears takes them."""
        return paces_in_row(self.belief, stage, self.frame.season + step, self.rules, self.scores)


class Station:
    """One site: its record, its notes, and forecasts of every line."""

    def __init__(
        self,
        name: str,
        record: WeatherRecord,
        noted: dict[tuple[str, int], int],
        rules: TaxonRules,
        trend: bool,
    ) -> None:
        self.name, self.record, self.noted, self.rules, self.trend = name, record, noted, rules, trend
        self.past = PastWeather(record, LATITUDE, {BENCH: Bench()}, record.end_day)
        stages = {(EVENTS[event], year): day for (event, year), day in noted.items()}
        tree = TreeNotes(name, History(stages=stages), Track(BENCH))
        self.notes = notes_of(tree, rules, self.past)
        self._usable: dict[int, tuple[Frame, Weather, int]] = {}

    def forecasts(self) -> Iterator[Forecast]:
        """Of every event noted, on every line that applies."""
        for (event, year), came in sorted(self.noted.items()):
            seasons = sorted(y for e, y in self.noted if e == event and y < year)
            asked = Asked(event, year, came)
            yield from self._known("new_site", asked, NOTHING_LEARNT)
            if len(seasons) >= FEWEST_SEASONS:
                for count in OWN_SEASONS:
                    last = tuple(seasons[-count:] if count else ())
                    yield from self._known(f"own_seasons.{count}", asked, self._belief(last, year), own=last)
                yield from self._made_ahead(asked, seasons)
            before = self.noted.get((EARLIER.get(event, ""), year))
            if before is not None:
                history = History(stages={(EVENTS[EARLIER[event]], year): before})
                belief = self._learnt(
                    [n for n in self.notes if (n.stage, n.season) == (EVENTS[EARLIER[event]], year)], year
                )
                yield from self._known("earlier_stage", asked, belief, history)
                yield from self._from_note(asked, before, history)

    def _belief(self, seasons: tuple[int, ...], year: int) -> PaceBelief:
        return self._learnt([note for note in self.notes if note.season in seasons], year)

    def _learnt(self, notes: list[Note], year: int) -> PaceBelief:
        learnt = learn(notes, self.rules.taxon.pace, tuple(EVENTS.values()), [year])
        return learnt.belief(self.name)

    def _known(
        self,
        line: str,
        asked: Asked,
        belief: PaceBelief,
        history: History = NO_HISTORY,
        own: tuple[int, ...] = (),
    ) -> Iterator[Forecast]:
        scores = member_scores(1, KNOWN_PACES)
        frame = self.past.frame(asked.year, KNOWN_PACES)
        view = View(frame, self.past.on(Track(BENCH)), self.rules, history, belief, scores)
        yield from self._said(line, asked, view, own)

    def _made_ahead(self, asked: Asked, seasons: list[int]) -> Iterator[Forecast]:
        last = tuple(seasons[-MADE_WITH_SEASONS:])
        belief = self._belief(last, asked.year)
        for line, month in (("made_1_january", 1), ("made_1_march", 3)):
            made = date(asked.year, month, 1).toordinal()
            frame, weather, years = self._years_ahead(made, asked.year)
            if years >= FEWEST_SEASONS:
                view = View(frame, weather, self.rules, NO_HISTORY, belief, member_scores(years))
                yield from self._said(line, asked, view, last)

    def _from_note(self, asked: Asked, before: int, history: History) -> Iterator[Forecast]:
        frame, weather, years = self._years_ahead(before, asked.year)
        if years < TOO_FEW_YEARS:
            return
        seen = part_of(self.record, date(asked.year - 1, 1, 1).toordinal(), before)
        past = PastWeather(seen, LATITUDE, {BENCH: Bench()}, before)
        tree = TreeNotes(self.name, history, Track(BENCH))
        belief = self._learnt(notes_of(tree, self.rules, past), asked.year)
        view = View(frame, weather, self.rules, history, belief, member_scores(years))
        yield from self._said("earlier_stage_forecast", asked, view, ())

    def _years_ahead(self, made: int, year: int) -> tuple[Frame, Weather, int]:
        """Weather known up to the day before, then each earlier year; as a plan lays it."""
        if made not in self._usable:
            # The file's summers are missing and no spring stage feels them: a straight line through them lets
            # a year count as whole.
            record = through_summer(part_of(self.record, self.record.first_day, made))
            old = without_warming(record, warming(record, False), False) if self.trend else record
            first, end = date(year - 1, 9, 28).toordinal(), date(year, 8, 1).toordinal()
            years = lay_weather_years(record, False, first, end, made, old)
            count = len(years.labels)
            length = day_lengths(LATITUDE, first, end - first)
            frame = Frame(False, LATITUDE, year, first, end - first, member_rows(count), length)
            self._usable[made] = (frame, BenchWeather(years, Bench()), count)
        return self._usable[made]

    def _said(self, line: str, asked: Asked, view: View, own: tuple[int, ...]) -> Iterator[Forecast]:
        event = asked.event
        stage = self.rules.stages[EVENTS[event]]
        before = [id for id, _ in self.rules.in_row.get(stage.id, ())]
        days = stage_days(stage, 0, view, view.history, iter(()), True, before)
        dates = [quantile(days, share) for share in (0.1, 0.5, 0.9)]
        if np.isfinite(dates).all():
            low, middle, high = (int(day) for day in dates)
            mean = float(np.mean([day_of_year(self.noted[event, y]) for y in own])) if own else np.nan
            yield Forecast(line, event, self.name, asked.year, low, middle, high, asked.came, mean)


def day_of_year(day: int) -> int:
    """1 on 1 January."""
    return date.fromordinal(day).timetuple().tm_yday


def part_of(record: WeatherRecord, start: int, end: int) -> WeatherRecord:
    """The days of a record from `start` (in) to `end` (out)."""
    start = min(max(start, record.first_day), record.end_day)
    end = max(min(end, record.end_day), start)
    cut = slice(start - record.first_day, end - record.first_day)
    return replace(
        record,
        first_day=start,
        tmin_c=record.tmin_c[cut],
        tmax_c=record.tmax_c[cut],
        tmean_c=record.tmean_c[cut],
    )


def through_summer(record: WeatherRecord) -> WeatherRecord:
    """The record with its missing days of July to September on straight lines."""
    days = np.arange(record.first_day, record.end_day)
    summer = np.array([date.fromordinal(int(day)).month in (7, 8, 9) for day in days])
    laid = {}
    for name in ("tmin_c", "tmax_c", "tmean_c"):
        values = np.array(getattr(record, name))
        known = ~np.isnan(values)
        if not known.any():
            return record
        filled = np.interp(days, days[known], values[known])
        laid[name] = np.where(summer & ~known, filled, values)
    return replace(record, **laid)


def read_stations(observations: Path, temperature: Path, rules: TaxonRules, trend: bool) -> Iterator[Station]:
    """Every station of the observations that has weather."""
    noted: dict[str, dict[tuple[str, int], int]] = defaultdict(dict)
    for row in rows_of(observations):
        if row["event"] in EVENTS and row["date"]:
            day = date.fromisoformat(row["date"]).toordinal()
            noted[row["station"]][row["event"], int(row["year"])] = day
    weather: dict[str, list[tuple[int, float, float]]] = defaultdict(list)
    for row in rows_of(temperature):
        if row["station"] in noted:
            values = float(row["tmin_c"] or "nan"), float(row["tmax_c"] or "nan")
            weather[row["station"]].append((date.fromisoformat(row["date"]).toordinal(), *values))
    for station in sorted(set(noted) - set(weather)):
        print(f"{station}: no temperatures, left out", file=sys.stderr)
    for station in sorted(weather):
        table = np.array(sorted(weather[station]))
        record = daily_record(
            table[:, 0].astype(np.int64), {"tmin_c": table[:, 1], "tmax_c": table[:, 2]}, "station"
        )
        yield Station(station, record, noted[station], rules, trend)
