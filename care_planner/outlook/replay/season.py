"""A season lived again: each day knows the record up to yesterday, a forecast with error, and its notes.

What it would have called is held against what came that night.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from care_planner.climate.outlook import KeptDay, Outlook, OutlookDay, make_outlook
from care_planner.climate.record import WeatherRecord
from care_planner.climate.simulated import issued_at, simulated_issue, up_to
from care_planner.collection.model import Collection
from care_planner.journal.model import Entry
from care_planner.outlook.watch.nights import NIGHTS_AHEAD, NightWatch, Setting, State, bench_night, watches
from care_planner.outlook.watch.resolved import resolved_trees
from care_planner.outlook.watch.standing import Stand, benches_of, standings
from care_planner.plan import Basis
from care_planner.rulebook.pack import Rulebook
from care_planner.spans import is_south, season_start
from care_planner.years.state import TreeYears

# A hundred pairs are what a law of errors asks for; older ones are let go.
_KEPT_DAYS = 130


@dataclass(frozen=True)
class LivedNight:
    """One evening of a replay: what was called that afternoon, since when, and what came by the morning.

    called: the watch as of the afternoon, None for silence. first_called: the day on which the alarm that
    stands was first written; 0 for none. hurt: trees whose air was at or under their limit; close: the
    smallest distance from a limit (degC), nan where no tree was there or the night is missing.
    """

    evening: int
    called: NightWatch | None
    first_called: int
    hurt: tuple[str, ...]
    close: float

    @property
    def is_alarm(self) -> bool:
        """Whether a person was called that afternoon."""
        return self.called is not None and self.called.is_alarm


@dataclass(frozen=True)
class Replayed:
    """What a replay is made of. record: the whole of it; only its days before each day are seen."""

    collection: Collection
    entries: Sequence[Entry]
    record: WeatherRecord
    rulebook: Rulebook
    setting: Setting
    seed: int
    every: int = 14  # the trees are resolved anew after so many days


def season_nights(of: Replayed, season: int) -> Iterator[LivedNight]:
    """Every evening of a season, in order. Days that the record does not hold are silent and hurt nobody."""
    south = is_south(of.collection.site.latitude)
    start, end = season_start(season, south), season_start(season + 1, south)
    kept: list[KeptDay] = []
    states: dict[str, State] = {}
    since: dict[str, int] = {}
    trees: list[tuple[TreeYears, Sequence[str]]] = []
    for day in range(start, end):
        seen = up_to(of.record, day)
        kept = [row for row in kept if row.day > day - _KEPT_DAYS]
        kept += simulated_issue(of.record, day, of.seed)
        outlook = make_outlook(kept, seen, day, "simulated", issued_at(day))
        if not trees or (day - start) % of.every == 0:
            trees = _trees(of, seen, day, outlook)
        there = {day + ahead: benches_of(standings(trees, day + ahead)) for ahead in range(NIGHTS_AHEAD + 1)}
        found = watches(there, of.collection.benches, outlook, of.setting, states)
        _remember(found, day, states, since)
        called = next((watch for watch in found if watch.kind == "frost" and watch.day == day), None)
        hurt, close = _came(of, day, there[day])
        yield LivedNight(day, called, since.get(f"watch/frost/{day}", 0), hurt, close)


def _trees(
    of: Replayed, seen: WeatherRecord, day: int, outlook: Outlook
) -> list[tuple[TreeYears, Sequence[str]]]:
    noted = [entry for entry in of.entries if entry.day <= day]
    return resolved_trees(Basis(of.collection, seen, of.rulebook, day, outlook), noted)


def _remember(found: Iterable[NightWatch], day: int, states: dict[str, State], since: dict[str, int]) -> None:
    for watch in found:
        states[watch.key] = watch.state
        if not watch.is_alarm:
            since.pop(watch.key, None)
        else:
            since.setdefault(watch.key, day)


def _came(
    of: Replayed, evening: int, standing: Mapping[str, tuple[Stand, ...]]
) -> tuple[tuple[str, ...], float]:
    """Which trees the night reached, and how near it came to any."""
    place = evening + 1 - of.record.first_day
    low = float(of.record.tmin_c[place]) if 0 <= place < len(of.record.tmin_c) else np.nan
    if np.isnan(low):
        return (), np.nan
    truth = OutlookDay(evening + 1, 0, low, 0.1, low, 0.1)
    margins = {
        tree.tree: bench_night(name, of.collection.benches[name], truth).expected_c - tree.limit_c
        for name, trees in standing.items()
        for tree in trees
    }
    hurt = tuple(sorted(tree for tree, margin in margins.items() if margin <= 0))
    return hurt, min(margins.values(), default=np.nan)
