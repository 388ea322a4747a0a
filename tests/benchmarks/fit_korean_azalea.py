"""Fit the numbers of the korean-azalea pack on open records, its model chosen by leaving stations out.

    python tests/benchmarks/fit_korean_azalea.py --observations F --temperature F [--folds N] [--held-out DIR]

F may be gzipped. Observations: station, year, event (bud_burst, first_flower, full_bloom), date. Temperature:
station, date, tmin_c, tmax_c (October to June). Prints the numbers the pack holds. With --folds the stations
are dealt into N parts; each part is forecast by numbers fitted on the others, for every start of the warmth
sum that is tried. With --held-out it also writes, for each part, the pack with the others' numbers and the
part's observations, for `forecast_skill.py --held-out`.

The model: days of full forcing (a sigmoid of temperature) from a day on, against a need that falls as chill
gathers; one curve for all three stages, so that no two can swap order. Searched: midpoint, slope, hours of
chill that are enough, how many times the need without any; the sums follow in closed form (the median). The
loss is squared days up to `ROBUST_DAYS` and linear beyond, since real notebooks hold gross errors. Then the
spread of the paces (80 % of notes inside the 80 % interval), and how it is made up, by maximum likelihood.
"""

import argparse
import csv
import gzip
import io
from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
import yaml
from numpy.typing import NDArray

from care_planner.climate.chill import hours_between
from care_planner.climate.forcing import sigmoid_forcing
from care_planner.climate.gaps import fill_short_gaps
from care_planner.learning.covariance import covariance, points
from care_planner.learning.notes import PLAIN_DAYS
from care_planner.rulebook.read_packs import shipped_folder
from care_planner.rulebook.taxon import Pace

Floats = NDArray[np.float64]

EVENTS = {"bud_burst": "bud-burst", "first_flower": "first-flower", "full_bloom": "full-bloom"}
WEIGHTS = {"bud_burst": 1.0, "first_flower": 2.0, "full_bloom": 1.0}
ROBUST_DAYS = 12.0
COLUMNS = 250  # days from 1 October
STARTS = {"01-10": 101, "01-17": 108, "01-24": 115, "01-31": 122}  # days after 1 October
CHILL_LOW_C, CHILL_HIGH_C = -20.0, 3.0
FIRST_GUESS = (12.0, 0.16, 1150.0, 1.5)  # midpoint, slope, enough, times
STEPS = (2.0, 0.03, 300.0, 0.15)
CLIP = 3.0  # residuals beyond so many standard deviations are clipped for the likelihood


@dataclass(frozen=True, eq=False)
class Seasons:
    """Station seasons with their weather: [n, COLUMNS] from 1 October, days of events [n] (nan: none)."""

    stations: list[str]
    years: NDArray[np.int64]
    tmin: Floats
    tmax: Floats
    chill: Floats  # hours up to and with a day
    days: dict[str, Floats]

    def of(self, stations: set[str]) -> "Seasons":
        """The seasons of some stations."""
        keep = np.array([station in stations for station in self.stations])
        names = [station for station in self.stations if station in stations]
        days = {event: values[keep] for event, values in self.days.items()}
        return Seasons(names, self.years[keep], self.tmin[keep], self.tmax[keep], self.chill[keep], days)


@dataclass(frozen=True)
class Model:
    """The requirement of the three stages."""

    start: str
    midpoint_c: float
    slope_per_c: float
    enough: float
    times: float
    sums: dict[str, float]
    loss: float


def rows_of(path: Path) -> list[dict[str, str]]:
    """A CSV file, gzipped or not."""
    raw = path.read_bytes()
    text = gzip.decompress(raw) if raw[:2] == b"\x1f\x8b" else raw
    return list(csv.DictReader(io.StringIO(text.decode("utf-8"))))


def read_seasons(observations: Path, temperature: Path) -> Seasons:
    """Seasons with an event and whole weather from October to May."""
    weather: dict[str, dict[int, tuple[float, float]]] = defaultdict(dict)
    for row in rows_of(temperature):
        values = float(row["tmin_c"] or "nan"), float(row["tmax_c"] or "nan")
        weather[row["station"]][date.fromisoformat(row["date"]).toordinal()] = values
    noted: dict[tuple[str, int], dict[str, int]] = defaultdict(dict)
    for row in rows_of(observations):
        noted[row["station"], int(row["year"])][row["event"]] = date.fromisoformat(row["date"]).toordinal()
    keys = sorted(noted)
    laid = np.full((2, len(keys), COLUMNS), np.nan)
    days = {event: np.full(len(keys), np.nan) for event in EVENTS}
    for i, (station, year) in enumerate(keys):
        first = date(year - 1, 10, 1).toordinal()
        of_station = weather.get(station, {})
        laid[:, i] = np.array([of_station.get(first + c, (np.nan, np.nan)) for c in range(COLUMNS)]).T
        for event, day in noted[station, year].items():
            days[event][i] = day - first
    tmin, tmax = (np.array([fill_short_gaps(row)[0] for row in values]) for values in laid)
    whole = ~np.isnan(tmin + tmax).any(axis=1)
    chill = np.cumsum(hours_between(tmin[whole], tmax[whole], low_c=CHILL_LOW_C, high_c=CHILL_HIGH_C), axis=1)
    return Seasons(
        [station for (station, _), kept in zip(keys, whole, strict=True) if kept],
        np.array([year for _, year in keys])[whole],
        tmin[whole],
        tmax[whole],
        chill,
        {event: values[whole] for event, values in days.items()},
    )


class Search:
    """Evaluates models of one start on some seasons; forcing is computed once a curve."""

    def __init__(self, seasons: Seasons, start: str) -> None:
        self.seasons, self.start = seasons, start
        self.column = STARTS[start]
        # Single precision is exact enough to search with, at half the time.
        self.tmin = seasons.tmin[:, self.column :].astype(np.float32)
        self.tmax = seasons.tmax[:, self.column :].astype(np.float32)
        self._curve: tuple[float, float] | None = None
        self._forced = np.zeros(0)

    def forced(self, midpoint_c: float, slope_per_c: float) -> Floats:
        """Days of full forcing up to and with each day from the start, [n, days]."""
        if self._curve != (midpoint_c, slope_per_c):
            daily = sigmoid_forcing(self.tmin, self.tmax, midpoint_c=midpoint_c, slope_per_c=slope_per_c)
            self._curve, self._forced = (midpoint_c, slope_per_c), np.cumsum(daily, axis=1, dtype=np.float64)
        return self._forced

    def relieved(self, midpoint_c: float, slope_per_c: float, enough: float, times: float) -> Floats:
        """Forcing over what missing chill raises the need by: a stage comes when it reaches its sum."""
        share = np.minimum(self.seasons.chill[:, self.column :] / enough, 1.0)
        return self.forced(midpoint_c, slope_per_c) / (1.0 + (times - 1.0) * (1.0 - share))

    def model(self, numbers: tuple[float, float, float, float]) -> Model:
        """The model with these numbers: its sums and its loss."""
        relieved = self.relieved(*numbers)
        sums = {
            event: float(np.median(at_event(relieved, days, self.column)[0]))
            for event, days in self.seasons.days.items()
        }
        loss = sum(WEIGHTS[event] * robust(self.errors(relieved, event, sums[event])) for event in EVENTS)
        return Model(self.start, *numbers, sums, loss)

    def errors(self, relieved: Floats, event: str, needed: float) -> Floats:
        """Forecast less noted, days, where an event was noted."""
        days = self.seasons.days[event]
        known = ~np.isnan(days)
        met = relieved[known] >= needed
        forecast = np.where(met.any(axis=1), met.argmax(axis=1), relieved.shape[1]) + self.column
        return np.asarray(forecast - days[known])

    def errors_of(self, model: Model, event: str) -> Floats:
        """The errors of a model fitted elsewhere."""
        numbers = model.midpoint_c, model.slope_per_c, model.enough, model.times
        return self.errors(self.relieved(*numbers), event, model.sums[event])

    def best(self, guess: tuple[float, float, float, float], halvings: int) -> Model:
        """A pattern search: each number is moved by its step while that helps, then steps are halved."""
        best, steps = self.model(guess), np.array(STEPS)
        numbers = list(guess)
        for _ in range(halvings):
            moved = True
            while moved:
                moved = False
                for i in range(len(numbers)):
                    for way in (steps[i], -steps[i]):
                        tried = list(numbers)
                        tried[i] += float(way)
                        if min(tried[1:3]) <= 0 or tried[3] < 1:
                            continue
                        found = self.model((tried[0], tried[1], tried[2], tried[3]))
                        if found.loss < best.loss - 1e-4:
                            best, numbers, moved = found, tried, True
                            break
            steps = steps / 2
        return best


def at_event(relieved: Floats, days: Floats, column: int) -> tuple[Floats, Floats]:
    """Relieved forcing in the middle of the noted days, and its change from the day before; nan before."""
    rows = np.flatnonzero(days > column)
    at = days[rows].astype(np.int64) - column
    now, before = relieved[rows, at], relieved[rows, at - 1]
    return (now + before) / 2, now - before


def robust(errors: Floats) -> float:
    """Mean squared days up to `ROBUST_DAYS`, linear beyond (Huber 1964)."""
    size = np.abs(errors)
    beyond = ROBUST_DAYS * (2 * size - ROBUST_DAYS)
    return float(np.mean(np.where(size < ROBUST_DAYS, size**2, beyond)))


def numbers_of(model: Model) -> tuple[float, float, float, float]:
    """What a search starts from."""
    return model.midpoint_c, model.slope_per_c, model.enough, model.times


@dataclass(frozen=True, eq=False)
class Residuals:
    """Log paces of one station: stage ids, seasons, values, and the note's own variance."""

    stages: list[str]
    seasons: list[int]
    values: Floats
    noise: Floats


def log_paces(seasons: Seasons, model: Model) -> dict[str, tuple[Floats, Floats, NDArray[np.int64]]]:
    """By event: log paces, their change in a day, and the rows they belong to."""
    search = Search(seasons, model.start)
    relieved = search.relieved(*numbers_of(model))
    found = {}
    for event, days in seasons.days.items():
        middle, change = at_event(relieved, days, search.column)
        found[event] = (
            np.log(middle / model.sums[event]),
            change / middle,
            np.flatnonzero(days > search.column),
        )
    return found


def spreads_of(paces: dict[str, tuple[Floats, Floats, NDArray[np.int64]]]) -> dict[str, float]:
    """The spread with which 80 % of a stage's notes lie inside the 80 % interval.

    The interval is told in whole days, both ends in it: a note half a day beyond its end still lies inside.
    """
    return {
        event: float(np.quantile(np.maximum(np.abs(values) - per_day / 2, 0.0), 0.8)) / 1.2816
        for event, (values, per_day, _) in paces.items()
    }


def residuals_by_station(seasons: Seasons, model: Model) -> list[Residuals]:
    """What the likelihood is taken over, clipped."""
    paces = log_paces(seasons, model)
    spreads = spreads_of(paces)
    by_station: dict[str, list[tuple[str, int, float, float]]] = defaultdict(list)
    for event, (values, per_day, rows) in paces.items():
        clipped = np.clip(values, -CLIP * spreads[event], CLIP * spreads[event])
        for value, change, row in zip(clipped, per_day, rows, strict=True):
            error = (PLAIN_DAYS * min(float(change), 0.1)) ** 2
            by_station[seasons.stations[row]].append(
                (EVENTS[event], int(seasons.years[row]), float(value), error)
            )
    return [
        Residuals(
            [r[0] for r in rows],
            [r[1] for r in rows],
            np.array([r[2] for r in rows]),
            np.array([r[3] for r in rows]),
        )
        for _, rows in sorted(by_station.items())
    ]


def pace_from(x: Floats, spreads: dict[str, float]) -> Pace:
    """A pace from unbounded numbers: 3 logits of in_step, 3 logits of the parts, the log of the years, and
    the log of one factor on the spreads (1 in the pack: there 80 % of notes decide)."""
    parts = np.exp(np.append(x[3:6], 0.0))
    parts = parts / parts.sum()
    factor = float(np.exp(x[7]))
    stages = {
        EVENTS[event]: {"spread": str(min(spread * factor, 0.5)), "in_step": str(1 / (1 + np.exp(-x[i])))}
        for i, (event, spread) in enumerate(spreads.items())
    }
    said = {"spread": "0.1", "keeps": str(parts[0]), "fades": str(parts[1]), "alone": str(parts[2])}
    return Pace.model_validate({**said, "fades_years": str(np.exp(x[6])), "stages": stages, "source": "fit"})


def misfit(x: Floats, stations: list[Residuals], spreads: dict[str, float]) -> float:
    """The negative log likelihood, without its constant."""
    pace = pace_from(x, spreads)
    total = 0.0
    for station in stations:
        at = points(zip(station.stages, station.seasons, [0.0] * len(station.stages), strict=True))
        own = np.array([pace.spread_of(stage) for stage in at.stages])
        known = covariance(pace, at, at) + np.diag(station.noise + pace.alone * own**2)
        lower = np.linalg.cholesky(known)
        total += float(np.sum(np.linalg.solve(lower, station.values) ** 2) / 2 + np.log(np.diag(lower)).sum())
    return total


def fit_pace(seasons: Seasons, model: Model) -> tuple[Pace, dict[str, float]]:
    """The make-up of the spread, by maximum likelihood, and the spreads."""
    spreads = spreads_of(log_paces(seasons, model))
    stations = residuals_by_station(seasons, model)
    x = np.array([0.4, 3.0, 2.0, 0.0, 1.5, 0.0, 0.6, 0.0])
    best, step = misfit(x, stations, spreads), 0.8
    while step > 0.04:
        moved = False
        for i in range(len(x)):
            for way in (step, -step):
                tried = x.copy()
                tried[i] = np.clip(tried[i] + way, -4.0, 4.0)
                found = misfit(tried, stations, spreads)
                if found < best - 1e-3:
                    x, best, moved = tried, found, True
                    break
        step = step if moved else step / 2
    x[7] = 0.0
    return pace_from(x, spreads), spreads


def pack_with(model: Model, pace: Pace) -> dict[str, object]:
    """The shipped pack with other numbers, as data."""
    text = (shipped_folder() / "korean-azalea.yaml").read_text(encoding="utf-8")
    pack: dict[str, object] = yaml.load(text, Loader=yaml.BaseLoader)
    kept = pack["taxon"]["pace"]  # type: ignore[index]
    kept |= {key: f"{getattr(pace, key):.4f}" for key in ("keeps", "fades", "fades_years", "alone")}
    kept["stages"] = {
        id: {"spread": f"{own.spread:.4f}", "in_step": f"{own.in_step:.4f}"}
        for id, own in pace.stages.items()
    }
    by_stage = {EVENTS[event]: needed for event, needed in model.sums.items()}
    for stage in pack["stages"]:  # type: ignore[attr-defined]
        if stage["id"] in by_stage:
            warmth = stage["reached"]["warmth"]
            stage["reached"]["since"] = {"month_day": model.start}
            warmth["sum"] = f"{by_stage[stage['id']]:.4f}"
            warmth["by"] |= {
                "midpoint_c": f"{model.midpoint_c:.4f}",
                "slope_per_c": f"{model.slope_per_c:.5f}",
            }
            warmth["less_chill"] |= {"enough": f"{model.enough:.1f}", "at_most_times": f"{model.times:.4f}"}
    return pack


def show(model: Model, pace: Pace) -> None:
    """The numbers of the pack."""
    print(
        f"since {model.start}: midpoint_c {model.midpoint_c:.2f}, slope_per_c {model.slope_per_c:.3f}, "
        f"enough {model.enough:.0f} h, at_most_times {model.times:.3f}"
    )
    for event, needed in model.sums.items():
        own = pace.stages[EVENTS[event]]
        print(f"  {EVENTS[event]:13} sum {needed:.2f}, spread {own.spread:.3f}, in_step {own.in_step:.2f}")
    print(
        f"  keeps {pace.keeps:.2f}, fades {pace.fades:.2f} over {pace.fades_years:.1f} years, "
        f"alone {pace.alone:.2f}"
    )


def folds_of(seasons: Seasons, folds: int) -> list[set[str]]:
    """Stations dealt out in the order of their names."""
    names = sorted(set(seasons.stations))
    return [set(names[part::folds]) for part in range(folds)]


def leave_out(seasons: Seasons, start: str, guess: Model, parts: list[set[str]]) -> list[Model]:
    """For each part the model fitted on the others; prints what it forecasts of the part."""
    everyone = set(seasons.stations)
    models, errors = [], defaultdict(list)
    for part in parts:
        model = Search(seasons.of(everyone - part), start).best(numbers_of(guess), 3)
        models.append(model)
        left = Search(seasons.of(part), start)
        for event in EVENTS:
            errors[event].append(left.errors_of(model, event))
    said = [f"{event} {np.sqrt(np.mean(np.concatenate(errors[event]) ** 2)):.2f}" for event in EVENTS]
    print(f"stations left out, since {start}: RMSE {', '.join(said)} days")
    return models


def write_held_out(
    folder: Path, seasons: Seasons, parts: list[set[str]], models: list[Model], observations: Path
) -> None:
    """A pack and the observations of the stations it has not seen, for each part."""
    everyone = set(seasons.stations)
    rows = rows_of(observations)
    for k, (part, model) in enumerate(zip(parts, models, strict=True)):
        own = folder / str(k)
        own.mkdir(parents=True, exist_ok=True)
        pace, _ = fit_pace(seasons.of(everyone - part), model)
        pack = yaml.safe_dump(pack_with(model, pace), sort_keys=False, allow_unicode=True)
        (own / "korean-azalea.yaml").write_text(pack, encoding="utf-8")
        with (own / "observations.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, ["station", "year", "event", "date"])
            writer.writeheader()
            writer.writerows(row for row in rows if row["station"] in part)


def main() -> None:
    """Fit, and print or write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--observations", type=Path, required=True)
    parser.add_argument("--temperature", type=Path, required=True)
    parser.add_argument("--folds", type=int, default=0, help="leave stations out in so many parts")
    parser.add_argument("--held-out", type=Path, help="a folder for the packs of the parts")
    asked = parser.parse_args()
    seasons = read_seasons(asked.observations, asked.temperature)
    fitted = {start: Search(seasons, start).best(FIRST_GUESS, 4) for start in STARTS}
    for start, model in fitted.items():
        print(f"since {start}: loss {model.loss:.1f} (all stations)")
    best = min(fitted.values(), key=lambda model: model.loss)
    show(best, fit_pace(seasons, best)[0])
    if asked.folds:
        parts = folds_of(seasons, asked.folds)
        models = {start: leave_out(seasons, start, fitted[start], parts) for start in STARTS}
        if asked.held_out:
            write_held_out(asked.held_out, seasons, parts, models[best.start], asked.observations)


if __name__ == "__main__":
    main()
