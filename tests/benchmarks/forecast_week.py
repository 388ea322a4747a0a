"""What a forecast of the next ten days is worth to a date made a week ahead: open data.

    python tests/benchmarks/forecast_week.py --observations F --temperature F [--held-out FOLDER] [--every N]

Files as in forecast_skill.py. First flower of the korean-azalea pack, made 7 days before it came, on the
site's own earlier years (20 and more) and its last 5 noted seasons: once without a forecast, once with one,
through the functions that a plan uses. No forecasts of those years are open, so they are made of what came
later with the published error of each day ahead (forecast_error.PUBLISHED_SD_C): from day to day and between
low and high the errors are half alike (correlation 0.5), the draw is fixed. Prints RMSE, mean error and how
often it came within the 80 % span; for each of two journals: `plain`, those five seasons and nothing of this
one, and `noted`, this season's bud burst too where it came before, and yesterday's look ("not yet").
"""

import argparse
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
from fit_korean_azalea import EVENTS
from forecast_skill import parts, rms
from station_forecasts import (
    BENCH,
    FEWEST_SEASONS,
    LATITUDE,
    MADE_WITH_SEASONS,
    NO_HISTORY,
    Station,
    View,
    part_of,
    read_stations,
    through_summer,
)

from care_planner.climate.forecast_blend import with_outlook
from care_planner.climate.forecast_error import DAYS_AHEAD, PUBLISHED_SD_C
from care_planner.climate.outlook import Outlook, OutlookDay
from care_planner.climate.trend import warming, without_warming
from care_planner.climate.weather_years import lay_weather_years
from care_planner.collection.site import Bench
from care_planner.learning.notes import Note, TreeNotes, notes_of
from care_planner.learning.past import PastWeather, Track
from care_planner.stages.history import History
from care_planner.stages.members import member_rows, member_scores, quantile
from care_planner.stages.moments import Frame, day_lengths
from care_planner.stages.stage import stage_days
from care_planner.stages.weather import BenchWeather

EVENT, STAGE = "first_flower", "first-flower"
AHEAD_DAYS = 7
ALIKE = 0.5
SEED = 20270328


@dataclass(frozen=True)
class Made:
    """One date beside what came, days from the true one: 10, 50 and 90 %."""

    low: float
    middle: float
    high: float


def simulated(station: Station, today: int, seed: int) -> Outlook:
    """A forecast of the next ten days made of what came, with the published error."""
    record, rng = station.record, np.random.default_rng(seed)
    days, shared = [], rng.standard_normal(2)
    for lead in range(DAYS_AHEAD + 1):
        fresh = rng.standard_normal(2)
        shared = ALIKE * shared + np.sqrt(1 - ALIKE**2) * fresh if lead else shared
        low_error, high_error = shared[0], ALIKE * shared[0] + np.sqrt(1 - ALIKE**2) * shared[1]
        place, sd = today + lead - record.first_day, PUBLISHED_SD_C[max(lead, 1) - 1]
        if not 0 <= place < len(record.tmin_c) or np.isnan(record.tmin_c[place] + record.tmax_c[place]):
            continue
        low, high = record.tmin_c[place] + sd * low_error, record.tmax_c[place] + sd * high_error
        days.append(OutlookDay(today + lead, lead, float(low), sd, float(max(low, high)), sd))
    return Outlook("simulated", today, None, tuple(days))


def made(station: Station, came: int, year: int, seed: int) -> dict[str, Made] | None:
    """The date without and with a forecast; None with too few years or notes."""
    today = came - AHEAD_DAYS
    seasons = sorted(y for e, y in station.noted if e == EVENT and y < year)
    if len(seasons) < FEWEST_SEASONS:
        return None
    record = through_summer(part_of(station.record, station.record.first_day, today))
    old = without_warming(record, warming(record, False), False)
    first, end = date(year - 1, 9, 28).toordinal(), date(year, 8, 1).toordinal()
    years = lay_weather_years(record, False, first, end, today, old)
    count = len(years.labels)
    if count < FEWEST_SEASONS:
        return None
    lengths = day_lengths(LATITUDE, first, end - first)
    frame = Frame(False, LATITUDE, year, first, end - first, member_rows(count), lengths)
    last = [note for note in station.notes if note.season in seasons[-MADE_WITH_SEASONS:]]
    outlook = simulated(station, today, seed)
    found = {}
    for journal in ("plain", "noted"):
        history, notes = (NO_HISTORY, last) if journal == "plain" else this_season(station, year, today, last)
        belief = station._learnt(notes, year)
        for name, expected in (("without", None), ("with", outlook)):
            weather = BenchWeather(with_outlook(years, expected), Bench())
            view = View(frame, weather, station.rules, history, belief, member_scores(count))
            before = [id for id, _ in station.rules.in_row.get(STAGE, ())]
            days = stage_days(station.rules.stages[STAGE], 0, view, view.history, iter(()), True, before)
            dates = [quantile(days, share) - came for share in (0.1, 0.5, 0.9)]
            if not np.isfinite(dates).all():
                return None
            found[f"{journal} {name}"] = Made(*dates)
    return found


def this_season(station: Station, year: int, today: int, last: list[Note]) -> tuple[History, list[Note]]:
    """The journal of a season by `today`: bud burst where it came, and that no flower was open yesterday."""
    burst = station.noted.get(("bud_burst", year))
    seen = {(EVENTS["bud_burst"], year): burst} if burst is not None and burst < today else {}
    history = History(stages=seen, not_yet={(STAGE, year): today - 1})
    record = part_of(station.record, date(year - 1, 1, 1).toordinal(), today)
    past = PastWeather(record, LATITUDE, {BENCH: Bench()}, today)
    return history, last + notes_of(TreeNotes(station.name, history, Track(BENCH)), station.rules, past)


def all_made(stations: Iterator[Station], every: int) -> Iterator[dict[str, Made]]:
    """Every date of every station, or every n-th."""
    number = 0
    for station in stations:
        for (event, year), came in sorted(station.noted.items()):
            if event == EVENT:
                number += 1
                both = made(station, came, year, SEED + number) if number % every == 0 else None
                if both is not None:
                    yield both


def main() -> None:
    """Make the dates, and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--observations", type=Path)
    parser.add_argument("--temperature", type=Path, required=True)
    parser.add_argument("--held-out", type=Path, help="packs that have not seen their stations")
    parser.add_argument("--every", type=int, default=1, help="only every n-th observation")
    asked = parser.parse_args()
    rows = [
        both
        for observations, rules in parts(asked.observations, asked.held_out)
        for both in all_made(read_stations(observations, asked.temperature, rules, True), asked.every)
    ]
    if not rows:
        raise SystemExit("no station has twenty earlier years and notes")
    scores = {}
    for name in rows[0]:
        held = [row[name] for row in rows]
        errors = np.array([one.middle for one in held])
        inside = np.mean([one.low <= 0 <= one.high for one in held])
        width = np.mean([one.high - one.low for one in held])
        scores[name] = {"rmse": rms(errors), "bias": round(float(errors.mean()), 2)}
        scores[name] |= {"inside_80": round(float(inside), 3), "span_days": round(float(width), 1)}
        print(f"{name:15} n {len(held):5}  " + "  ".join(f"{k} {v}" for k, v in scores[name].items()))
    gains = {
        journal: round(1 - scores[f"{journal} with"]["rmse"] / scores[f"{journal} without"]["rmse"], 3)
        for journal in ("plain", "noted")
    }
    for journal, gain in gains.items():
        print(f"{journal}: RMSE with a forecast is {gain:.1%} lower")
    print(json.dumps({"n": len(rows), "gains": gains, **scores}))


if __name__ == "__main__":
    main()
