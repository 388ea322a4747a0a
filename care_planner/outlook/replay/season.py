"""A season lived again: each day knows the record up to yesterday, a forecast with error, and its notes.

What it would have called is held against what came that night.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from care_planner.climate.outlook import KeptDay, Outlook, OutlookDay, make_outlook
from care_planner.climate.record import WeatherRecord
from care_planner.climate.simulated import issued_at, simulated_issue, up_to
from care_planner.collection.model import Collection
from care_planner.journal.model import Entry
from care_planner.outlook.watch.bench_sky import bench_night
from care_planner.outlook.watch.nights import NightWatch, Setting, State, watches
from care_planner.rulebook.pack import Rulebook
from care_planner.spans import is_south, season_start
from care_planner.years.basis import Basis
from care_planner.years.profiles import noted_trees, resolve_profile, twins
from care_planner.years.standing import STANDS_AHEAD, Stand, as_planned, benches_of, stand_on
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
    """What a replay is made of. record: the whole of it; only its days before each day are seen.

    offline: days without network, on which neither a forecast nor a new day of the record comes.
    """

    collection: Collection
    entries: Sequence[Entry]
    record: WeatherRecord
    rulebook: Rulebook
    setting: Setting
    seed: int
    offline: range = range(0)

    def noted(self, day: int) -> list[Entry]:
        """The notes that were there on a day."""
        return [entry for entry in self.entries if entry.day <= day]


@dataclass(frozen=True)
class KnownDay:
    """What is known on a day: the record up to the day before, and the outlook."""

    day: int
    record: WeatherRecord
    outlook: Outlook


# Where every tree stands on the known day and the next ones, by day.
Stands = Callable[[KnownDay], Mapping[int, Sequence[Stand]]]
# What is done with the watches of a day.
Hears = Callable[[KnownDay, Sequence[NightWatch]], None]


def season_nights(
    of: Replayed, season: int, stands: Stands, hears: Hears | None = None
) -> Iterator[LivedNight]:
    """Every evening of a season, in order. Days that the record does not hold are silent and hurt nobody."""
    states: dict[str, State] = {}
    since: dict[str, int] = {}
    for known in days_known(of, season):
        day = known.day
        # A season lived again has no notes of its moves: every tree is where its plan has it.
        there = {ahead: benches_of(as_planned(trees)) for ahead, trees in stands(known).items()}
        found = watches(there, of.collection.benches, known.outlook, of.setting, states)
        _remember(found, day, states, since)
        if hears is not None:
            hears(known, found)
        called = next((watch for watch in found if watch.kind == "frost" and watch.day == day), None)
        hurt, close = _came(of, day, there[day])
        yield LivedNight(day, called, since.get(f"watch/frost/{day}", 0), hurt, close)


def days_known(of: Replayed, season: int) -> Iterator[KnownDay]:
    """What is known on each day of a season."""
    south = is_south(of.collection.site.latitude)
    kept: list[KeptDay] = []
    newest = 0
    for day in range(season_start(season, south), season_start(season + 1, south)):
        if day not in of.offline:
            newest = day
            kept = [row for row in kept if row.day > day - _KEPT_DAYS]
            kept += simulated_issue(of.record, day, of.seed)
        seen = up_to(of.record, newest)
        yield KnownDay(day, seen, make_outlook(kept, seen, day, "simulated", issued_at(newest)))


def now_and_then(of: Replayed, every: int) -> Stands:
    """The trees resolved anew after so many days, and stood by that until then."""
    last = 0
    trees: list[tuple[TreeYears, Sequence[str]]] = []

    def stands(known: KnownDay) -> Mapping[int, Sequence[Stand]]:
        nonlocal last, trees
        if known.day - last >= every:
            last, trees = known.day, _resolved(of, known)
        days = range(known.day, known.day + STANDS_AHEAD + 1)
        return {day: _standings(trees, day) for day in days}

    return stands


def _resolved(of: Replayed, known: KnownDay) -> list[tuple[TreeYears, Sequence[str]]]:
    basis = Basis(of.collection, known.record, of.rulebook, known.day, known.outlook)
    shared = basis.with_empty_board()
    noted = noted_trees(of.collection, of.noted(known.day), shared)
    learnt = basis.learn(noted)
    profiles = twins(noted, known.day, learnt=learnt)
    return [(resolve_profile(profile, of.rulebook, shared), names) for profile, names in profiles]


def _standings(trees: Iterable[tuple[TreeYears, Sequence[str]]], day: int) -> list[Stand]:
    return sorted(replace(stand_on(years, day), tree=name) for years, names in trees for name in names)


def _remember(found: Iterable[NightWatch], day: int, states: dict[str, State], since: dict[str, int]) -> None:
    for watch in found:
        states[watch.key] = watch.state
        if not watch.is_alarm:
            since.pop(watch.key, None)
        else:
            since.setdefault(watch.key, day)


def _came(
    of: Replayed, evening: int, standing: Mapping[str, Sequence[Stand]]
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
