"""What a forecast of the next ten days is worth to a date made a week ahead, and the most it can be worth.

    python tests/benchmarks/forecast_week.py --observations F --temperature F [--held-out FOLDER] [--every N]

Files as in forecast_skill.py. First flower of the korean-azalea pack, made 7 days before it came, on the
site's own earlier years (20 and more), through the functions that a plan uses. By what is known of the days
from then on:

without   nothing but the past years
with      a forecast of ten days. No forecasts of those years are open, so they are made of what came, with
          the published error of each day ahead (forecast_error.PUBLISHED_SD_C); from day to day and between
          low and high the errors are half alike (correlation 0.5), the draw is fixed
perfect   ten days as they came: no weight, spread or bias of a forecast could do better
known     75 days as they came: neither could a longer forecast, or one that leaned otherwise to the climate

and by the journal: `plain`, the last 5 noted seasons and nothing of this one; `noted`, this season's bud
burst besides where it came before, and yesterday's look ("not yet"); `full`, the same with every earlier
season. Prints RMSE, mean error, and how often the day came within the 80 % span; by how much each forecast
lowers the RMSE; and what share of the squared error is left with all weather known, that of the tree's own
pace: a forecast can lower the RMSE by 10 % only where it is under 81 %.
"""

import argparse
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
from forecast_skill import TAXON, parts, rms
from station_forecasts import (
    BENCH,
    FEWEST_SEASONS,
    NO_HISTORY,
    Station,
    View,
    part_of,
    stations_of,
)

from care_planner.climate.forecast_blend import with_outlook
from care_planner.climate.forecast_error import DAYS_AHEAD, PUBLISHED_SD_C
from care_planner.climate.outlook import Outlook, OutlookDay
from care_planner.climate.trend import warming, without_warming
from care_planner.climate.weather_years import lay_weather_years
from care_planner.collection.site import Bench
from care_planner.learning.fitting.read_records import read_records
from care_planner.learning.notes import Note, TreeNotes, notes_of
from care_planner.learning.past import PastWeather, Track
from care_planner.stages.history import History
from care_planner.stages.members import member_rows, member_scores, quantile
from care_planner.stages.moments import Frame, day_lengths
from care_planner.stages.stage import stage_days
from care_planner.stages.weather import BenchWeather

EVENT, STAGE = "first_flower", "first-flower"
AHEAD_DAYS, KNOWN_DAYS, LAST_SEASONS = 7, 75, 5
ALIKE = 0.5
SEED = 20270328
JOURNALS = ("plain", "noted", "full")
# What a day that has come is off: nothing, but a spread of 0 is none.
_EXACT_C = 1e-6


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


def as_it_came(station: Station, today: int, days: int) -> Outlook:
    """The next days without any error, of one weight however far ahead."""
    record, found = station.record, []
    for day in range(today, today + days + 1):
        place = day - record.first_day
        if 0 <= place < len(record.tmin_c) and not np.isnan(record.tmin_c[place] + record.tmax_c[place]):
            low, high = float(record.tmin_c[place]), float(record.tmax_c[place])
            found.append(OutlookDay(day, 1, low, _EXACT_C, high, _EXACT_C))
    return Outlook("simulated", today, None, tuple(found))


def made(station: Station, came: int, year: int, seed: int) -> dict[str, Made] | None:
    """The date by journal and by what is known of the weather; None with too few years or notes."""
    today = came - AHEAD_DAYS
    seasons = sorted(y for e, y in station.noted if e == EVENT and y < year)
    if len(seasons) < FEWEST_SEASONS:
        return None
    record = part_of(station.record, station.record.first_day, today)
    old = without_warming(record, warming(record, False), False)
    first, end = date(year - 1, 9, 28).toordinal(), date(year, 8, 1).toordinal()
    years = lay_weather_years(record, False, first, end, today, old)
    count = len(years.labels)
    if count < FEWEST_SEASONS:
        return None
    lengths = day_lengths(station.latitude, first, end - first)
    frame = Frame(False, station.latitude, year, first, end - first, member_rows(count), lengths)
    weathers = {
        name: BenchWeather(with_outlook(years, expected), Bench())
        for name, expected in (
            ("without", None),
            ("with", simulated(station, today, seed)),
            ("perfect", as_it_came(station, today, DAYS_AHEAD)),
            ("known", as_it_came(station, today, KNOWN_DAYS)),
        )
    }
    found = {}
    for journal in JOURNALS:
        of = seasons if journal == "full" else seasons[-LAST_SEASONS:]
        notes = [note for note in station.notes if note.season in of]
        history = NO_HISTORY
        if journal != "plain":
            history, notes = this_season(station, year, today, notes)
        belief = station._learnt(notes, year)
        for name, weather in weathers.items():
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
    seen = {(station.stage_of["bud_burst"], year): burst} if burst is not None and burst < today else {}
    history = History(stages=seen, not_yet={(STAGE, year): today - 1})
    record = part_of(station.record, date(year - 1, 1, 1).toordinal(), today)
    past = PastWeather(record, station.latitude, {BENCH: Bench()}, today)
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
    parser.set_defaults(pack=None, taxon=TAXON)
    asked = parser.parse_args()
    rows: list[dict[str, Made]] = []
    for observations, rules in parts(asked):
        records = read_records(observations, asked.temperature, None)
        rows += all_made(stations_of(records, rules, True), asked.every)
    if not rows:
        raise SystemExit("no station has twenty earlier years and notes")
    scores = {name: score([row[name] for row in rows]) for name in rows[0]}
    print(f"{len(rows)} dates")
    for name, said in scores.items():
        print(f"{name:15} " + "  ".join(f"{key} {value}" for key, value in said.items()))
    for journal in JOURNALS:
        root = {name: scores[f"{journal} {name}"]["rmse"] for name in ("without", "with", "perfect", "known")}
        lower = ", ".join(f"{name} {1 - root[name] / root['without']:.1%}" for name in list(root)[1:])
        share = (root["known"] / root["without"]) ** 2
        print(f"{journal}: RMSE lower by: {lower}; the pace's share of the squared error {share:.0%}")
    print(json.dumps({"n": len(rows), **scores}))


def score(held: Sequence[Made]) -> dict[str, float]:
    """Root mean square and mean error of the middle day, hits of the 80 % span and its width (days)."""
    errors = np.array([one.middle for one in held])
    return {
        "rmse": rms(errors),
        "bias": round(float(errors.mean()), 2),
        "inside_80": round(float(np.mean([one.low <= 0 <= one.high for one in held])), 3),
        "span_days": round(float(np.mean([one.high - one.low for one in held])), 1),
    }


if __name__ == "__main__":
    main()
