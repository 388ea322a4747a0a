"""From which chance a frost alarm is worth its trouble: chosen on every other season, counted on the rest.

    python tests/benchmarks/alarm_settings.py RECORD [RECORD ...] [--every N] [--draw N]

RECORD is a weather CSV of the north (date, tmin_c, tmax_c; may be gzipped). Every whole season is lived day
by day as `replay` does it, with forecasts made of what came and their own law of errors, for a tree that
bears 0, -2 and -5 degC on an open bench. Counted are all nights, and apart from them the nights at the edge
of the cold season: dates on which the limit is reached in three years of ten at most, where an alarm tells.

Of the chances tried the highest is chosen that on the edge nights of the choosing seasons (even years), of
all records and limits together, keeps what a setting promises: so many of the nights that hurt called the
afternoon before, with at most so many false alarms for each true one. Prints that choice and, on the other
seasons, the counts of it and of what ships (`nights.TROUBLE`).
"""

import argparse
from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from types import SimpleNamespace

import numpy as np

from care_planner.climate.gaps import Floats
from care_planner.climate.outlook import Outlook
from care_planner.climate.read_weather import read_weather_file
from care_planner.climate.record import WeatherRecord
from care_planner.climate.weather_years import usable_years
from care_planner.collection.site import Bench
from care_planner.outlook.replay.season import Replayed, days_known
from care_planner.outlook.watch import nights
from care_planner.outlook.watch.nights import State, frost_watch
from care_planner.spans import season_start
from care_planner.years.standing import STANDS_AHEAD, Stand

LIMITS_C = (0.0, -2.0, -5.0)
TRIED = (0.03, 0.04, 0.06, 0.08, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5)
# What a setting promises: the least part of the nights called, the most false alarms for each true one.
PROMISES = {"cautious": (0.95, 3.0), "middle": (0.85, 1.5)}
EDGE_SHARE, AROUND_DAYS = 0.3, 7
SHIPPED = dict(nights.TROUBLE)
BENCHES = {"open": Bench()}


@dataclass
class Tally:
    """Nights that hurt, those of them called, and alarms in vain."""

    hurt: int = 0
    called: int = 0
    false: int = 0

    def add(self, is_hurt: bool, is_called: bool) -> None:
        """Count a night."""
        self.hurt += is_hurt
        self.called += is_hurt and is_called
        self.false += is_called and not is_hurt

    def keeps(self, least: float, most: float) -> bool:
        """Whether the counts keep a promise."""
        return self.called >= least * self.hurt and self.false <= most * max(self.called, 1)

    def __str__(self) -> str:
        share = self.called / self.hurt if self.hurt else 1.0
        vain = self.false / max(self.called, 1)
        return f"{self.called:5} of {self.hurt:5} called ({share:6.1%}), {vain:4.2f} false for each true"


# By record, limit, chance, whether the season is one to choose by, and whether the night is at the edge.
Key = tuple[str, float, float, bool, bool]


def live(record: WeatherRecord, season: int, draw: int, counts: dict[Key, Tally]) -> None:
    """One season of one record."""
    site = SimpleNamespace(site=SimpleNamespace(latitude=45.0))
    of = Replayed(site, (), record, SimpleNamespace(), "middle", draw)
    edges = {limit: edge_days(record, limit) for limit in LIMITS_C}
    states: dict[tuple[float, float, int], State] = {}
    for known in days_known(of, season):
        low = low_after(record, known.day)
        at = (date.fromordinal(known.day) - date(date.fromordinal(known.day).year, 1, 1)).days
        for limit in LIMITS_C:
            for tried in TRIED:
                is_called = called(known.day, limit, tried, known.outlook, states)
                if not np.isnan(low):
                    is_edge = bool(edges[limit][at])
                    tally = counts[record.source, limit, tried, season % 2 == 0, is_edge]
                    tally.add(low <= limit, is_called)


def called(
    today: int, limit: float, tried: float, outlook: Outlook, states: dict[tuple[float, float, int], State]
) -> bool:
    """Whether the night of today is an alarm that afternoon; the watches of the next nights are kept too."""
    nights.TROUBLE = dict.fromkeys(SHIPPED, tried)
    there = {"open": [Stand("tree", "open", limit, "hardened", "tree")]}
    is_alarm = False
    for evening in range(today, today + STANDS_AHEAD + 1):
        before = states.get((limit, tried, evening))
        watch = frost_watch(evening, there, BENCHES, outlook, "middle", before)
        if watch is not None:
            states[limit, tried, evening] = watch.state
            is_alarm = is_alarm or (evening == today and watch.is_alarm)
    return is_alarm


def low_after(record: WeatherRecord, evening: int) -> float:
    """The low of the night from an evening (degC), nan where it is missing."""
    place = evening + 1 - record.first_day
    return float(record.tmin_c[place]) if 0 <= place < len(record.tmin_c) else np.nan


def edge_days(record: WeatherRecord, limit: float) -> Floats:
    """For each day of the year whether its nights reach the limit in few years only, [366]."""
    days = np.arange(record.first_day, record.end_day)
    places = np.array([date.fromordinal(int(day)).timetuple().tm_yday - 1 for day in days])
    known = ~np.isnan(record.tmin_c)
    cold = np.bincount(places[known], (record.tmin_c <= limit)[known], 366)
    seen = np.bincount(places[known], minlength=366)
    window = np.ones(2 * AROUND_DAYS + 1)
    around = [np.convolve(np.r_[v[-AROUND_DAYS:], v, v[:AROUND_DAYS]], window, "valid") for v in (cold, seen)]
    return around[0] <= EDGE_SHARE * around[1]


def pooled(counts: dict[Key, Tally], tried: float, to_choose: bool, edge_only: bool) -> Tally:
    """All records and limits together."""
    whole = Tally()
    for (_, _, chance, chooses, is_edge), tally in counts.items():
        if chance == tried and chooses == to_choose and (is_edge or not edge_only):
            whole.hurt += tally.hurt
            whole.called += tally.called
            whole.false += tally.false
    return whole


def main() -> None:
    """Live the seasons, choose, count."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("records", nargs="+", type=Path)
    parser.add_argument("--every", type=int, default=1, help="an odd number: only seasons that it divides")
    parser.add_argument("--draw", type=int, default=1)
    asked = parser.parse_args()
    counts: dict[Key, Tally] = defaultdict(Tally)
    for path in asked.records:
        record, problems = read_weather_file(path, path.name)
        if record is None:
            raise SystemExit("\n".join(map(str, problems)))
        for season in usable_years(record, False)[0]:
            if season % asked.every == 0 and season_start(season, False) > record.first_day + 130:
                live(record, season, asked.draw, counts)
    for tried in TRIED:
        print(f"{tried:.2f} edge, to choose by: {pooled(counts, tried, True, True)}")
    for setting, (least, most) in PROMISES.items():
        kept = [t for t in TRIED if pooled(counts, t, True, True).keeps(least, most)]
        print(f"\n{setting}: chosen {max(kept) if kept else 'none'}; ships {SHIPPED[setting]}")
        for tried in sorted({*([max(kept)] if kept else []), SHIPPED[setting]}):
            print(f"  {tried:.2f} other seasons, edge: {pooled(counts, tried, False, True)}")
            print(f"  {tried:.2f} other seasons, all:  {pooled(counts, tried, False, False)}")
    print("\nby record and limit, what ships, other seasons, edge")
    for source, limit in sorted({(key[0], key[1]) for key in counts}):
        for setting in PROMISES:
            tally = counts[source, limit, SHIPPED[setting], False, True]
            print(f"  {source[:24]:24} {limit:4g} degC {setting:9} {tally}")


if __name__ == "__main__":
    main()
