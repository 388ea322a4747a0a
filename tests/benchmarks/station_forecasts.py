"""Forecasts of one station's events, on every line of `forecast_skill.py`, as a plan makes them."""

import sys
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from care_planner.climate.record import WeatherRecord, daily_record
from care_planner.climate.trend import warming, without_warming
from care_planner.climate.weather_years import lay_weather_years
from care_planner.collection.site import Bench
from care_planner.learning.fitting.records import Records
from care_planner.learning.learn import learn
from care_planner.learning.notes import Note, TreeNotes, notes_of
from care_planner.learning.pace_belief import NOTHING_LEARNT, PaceBelief, paces_in_row
from care_planner.learning.past import PastSeason, PastWeather, Track
from care_planner.rulebook.pack import TaxonRules
from care_planner.rulebook.taxon import Stage
from care_planner.stages.history import History
from care_planner.stages.members import PACES, TOO_FEW_YEARS, member_rows, member_scores, quantile
from care_planner.stages.moments import Frame, day_lengths
from care_planner.stages.reach import Floats
from care_planner.stages.stage import stage_days
from care_planner.stages.weather import BenchWeather, Weather

# Where no file of stations is given: of weight only to stages that wait for a day length.
MIDDLE_LATITUDE = 36.5
BENCH = "open"
FEWEST_SEASONS = 20
OWN_SEASONS = (0, 1, 2, 3, 5, 10)
OWN_MEANS = (3, 10)
MADE_WITH_SEASONS = 3
NO_HISTORY = History()
# Paces of a season whose weather is known: as many as a plan of 33 years has members.
KNOWN_PACES = 33 * PACES
# A month of which the record holds less than this share is taken as never measured.
MEASURED_SHARE = 0.05
_ORDINAL_OF_1970 = 719163


@dataclass(frozen=True)
class Forecast:
    """One forecast beside what came. Means are days from the season's 1 January; nan where there are none."""

    line: str
    event: str
    station: str
    year: int
    p10: int
    p50: int
    p90: int
    came: int
    own_mean: float  # over the seasons the line learnt from
    own_means: tuple[float, ...]  # over the last `OWN_MEANS` seasons


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
        latitude: float,
    ) -> None:
        self.name, self.record, self.noted, self.rules, self.trend = name, record, noted, rules, trend
        self.latitude = latitude
        self.stage_of = stages_of_events(rules, {event for event, _ in noted})
        self.past = PastWeather(record, latitude, {BENCH: Bench()}, record.end_day)
        stages = {(self.stage_of[event], year): day for (event, year), day in noted.items()}
        tree = TreeNotes(name, History(stages=stages), Track(BENCH))
        self.notes = notes_of(tree, rules, self.past)
        self._usable: dict[tuple[int, int, int], tuple[Frame, Weather, int]] = {}

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
            earlier = self._earlier(event)
            before = self.noted.get((earlier, year))
            if before is not None:
                key = (self.stage_of[earlier], year)
                history = History(stages={key: before})
                belief = self._learnt([n for n in self.notes if (n.stage, n.season) == key], year)
                yield from self._known("earlier_stage", asked, belief, history)
                yield from self._from_note(asked, before, history)

    def _earlier(self, event: str) -> str:
        """The noted event that comes just before this one by needing less of the very same warmth, if any."""
        stage_events = {stage: event for event, stage in self.stage_of.items()}
        before = [
            (part, stage_events[id])
            for id, part in self.rules.in_row.get(self.stage_of[event], ())
            if id in stage_events
        ]
        return max(before)[1] if before else ""

    def _belief(self, seasons: tuple[int, ...], year: int) -> PaceBelief:
        return self._learnt([note for note in self.notes if note.season in seasons], year)

    def _learnt(self, notes: list[Note], year: int) -> PaceBelief:
        learnt = learn(notes, self.rules.taxon.pace, tuple(self.stage_of.values()), [year])
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
        stage = self.rules.stages[self.stage_of[asked.event]]
        for line, month in MADE_ON[is_autumns(stage)]:
            made = date(asked.year, month, 1).toordinal()
            if asked.came < made:
                continue
            frame, weather, years = self._years_ahead(made, asked.year, stage)
            if years >= FEWEST_SEASONS:
                view = View(frame, weather, self.rules, NO_HISTORY, belief, member_scores(years))
                yield from self._said(line, asked, view, last)

    def _from_note(self, asked: Asked, before: int, history: History) -> Iterator[Forecast]:
        stage = self.rules.stages[self.stage_of[asked.event]]
        frame, weather, years = self._years_ahead(before, asked.year, stage)
        if years < TOO_FEW_YEARS:
            return
        seen = part_of(self.record, date(asked.year - 1, 1, 1).toordinal(), before)
        past = PastWeather(seen, self.latitude, {BENCH: Bench()}, before)
        tree = TreeNotes(self.name, history, Track(BENCH))
        belief = self._learnt(notes_of(tree, self.rules, past), asked.year)
        view = View(frame, weather, self.rules, history, belief, member_scores(years))
        yield from self._said("earlier_stage_forecast", asked, view, ())

    def _years_ahead(self, made: int, year: int, stage: Stage) -> tuple[Frame, Weather, int]:
        """Weather known up to the day before, then each earlier year; as a plan lays it."""
        first, end = span_of(stage, year)
        key = made, first, end
        if key not in self._usable:
            record = part_of(self.record, self.record.first_day, made)
            old = without_warming(record, warming(record, False), False) if self.trend else record
            years = lay_weather_years(record, False, first, end, made, old)
            count = len(years.labels)
            length = day_lengths(self.latitude, first, end - first)
            frame = Frame(False, self.latitude, year, first, end - first, member_rows(count), length)
            self._usable[key] = (frame, BenchWeather(years, Bench()), count)
        return self._usable[key]

    def _said(self, line: str, asked: Asked, view: View, own: tuple[int, ...]) -> Iterator[Forecast]:
        event = asked.event
        stage = self.rules.stages[self.stage_of[event]]
        before = [id for id, _ in self.rules.in_row.get(stage.id, ())]
        days = stage_days(stage, 0, view, view.history, iter(()), True, before)
        dates = [quantile(days, share) for share in (0.1, 0.5, 0.9)]
        if np.isfinite(dates).all():
            low, middle, high = (int(day) for day in dates)
            mean = self._mean(event, own)
            seasons = sorted(y for e, y in self.noted if e == event and y < asked.year)
            means = tuple(
                self._mean(event, seasons[-count:]) if len(seasons) >= count else np.nan
                for count in OWN_MEANS
            )
            yield Forecast(line, event, self.name, asked.year, low, middle, high, asked.came, mean, means)

    def _mean(self, event: str, seasons: Sequence[int]) -> float:
        days = [days_from_new_year(self.noted[event, year], year) for year in seasons]
        return float(np.mean(days)) if days else np.nan


# Days of the month on which forecasts are made: of stages of autumn (True), of all others.
MADE_ON = {False: (("made_1_january", 1), ("made_1_march", 3)), True: (("made_1_september", 9),)}


def is_autumns(stage: Stage) -> bool:
    """BBCH principal stage 9: leaves colour and fall (Meier 2001)."""
    return stage.bbch.startswith("9")


def span_of(stage: Stage, year: int) -> tuple[int, int]:
    """The days a stage may look at: from a little before its first month-day (1 October where chill is
    counted from then) to midsummer; of a stage of autumn the year."""
    if is_autumns(stage):
        return date(year, 1, 1).toordinal(), date(year + 1, 1, 1).toordinal()
    begins = [date(year - 1, 9, 28).toordinal()]
    for part in stage.reached.walk():
        if part.month_day is not None and part.season == "previous":
            month, day = (int(piece) for piece in part.month_day.split("-"))
            begins.append(date(year - 1, month, day).toordinal() - 3)
    return min(begins), date(year, 8, 1).toordinal()


def stages_of_events(rules: TaxonRules, events: set[str]) -> dict[str, str]:
    """The stages of the events observed, in the pack's order."""
    return {stage.event_id: id for id, stage in rules.stages.items() if stage.event_id in events}


def days_from_new_year(day: int, year: int) -> int:
    """1 on 1 January of the season's year; before it 0 and less."""
    return day - date(year, 1, 1).toordinal() + 1


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


def with_months_never_measured(record: WeatherRecord) -> WeatherRecord:
    """The record with months that the file does not hold (summers, winters) on straight lines.

    No stage scored feels them; without it no year would count as whole.
    """
    days = np.arange(record.first_day, record.end_day)
    months = (days - _ORDINAL_OF_1970).astype("datetime64[D]").astype("datetime64[M]").astype(
        np.int64
    ) % 12 + 1
    laid = {}
    for name in ("tmin_c", "tmax_c", "tmean_c"):
        values = np.array(getattr(record, name))
        known = ~np.isnan(values)
        if not known.any():
            return record
        never = [m for m in range(1, 13) if (at := months == m).any() and known[at].mean() < MEASURED_SHARE]
        filled = np.interp(days, days[known], values[known])
        laid[name] = np.where(np.isin(months, never) & ~known, filled, values)
    return replace(record, **laid)


def stations_of(records: Records, rules: TaxonRules, trend: bool) -> Iterator[Station]:
    """Every station of the observations that has weather."""
    by_station: dict[str, dict[tuple[str, int], int]] = defaultdict(dict)
    events = stages_of_events(rules, {event for _, _, event in records.noted})
    for (station, year, event), day in sorted(records.noted.items()):
        if event in events:
            by_station[station][event, year] = day
    for station, noted in by_station.items():
        if station not in records.weather:
            print(f"{station}: no temperatures, left out", file=sys.stderr)
            continue
        weather = records.weather[station]
        days = np.arange(weather.first_day, weather.first_day + len(weather.tmin_c))
        known = ~(np.isnan(weather.tmin_c) & np.isnan(weather.tmax_c))
        values = {"tmin_c": weather.tmin_c[known], "tmax_c": weather.tmax_c[known]}
        record = with_months_never_measured(daily_record(days[known], values, "station"))
        yield Station(station, record, noted, rules, trend, records.latitudes.get(station, MIDDLE_LATITUDE))
