"""How much colder a bench is than the record on clear, still nights, from lows that the grower read there."""

from collections import defaultdict
from collections.abc import Iterable, Mapping

import numpy as np

from care_planner.climate.outlook import NightSky
from care_planner.climate.record import WeatherRecord
from care_planner.collection.model import Collection
from care_planner.journal.model import Entry
from care_planner.outlook.watch.nights import is_clear

# From so many readings of clear nights on they stand in place of what is usual: ten mornings beat all of it.
READINGS_NEEDED = 10
# A thermometer by the pots is no nearer to the plant than this: a starting value.
_LEAST_SPREAD_C = 0.3


def learned_skies(
    collection: Collection, entries: Iterable[Entry], record: WeatherRecord, skies: Iterable[NightSky]
) -> Mapping[str, tuple[float, float]]:
    """By bench: degC that a clear, still night adds to the record's low and the bench's own offset, and its
    spread. Only benches with `READINGS_NEEDED` readings of such nights, or of nights whose sky nobody told.

    Two readings of a bench on one morning are one. A bench with a floor has no sky over it.
    """
    sky = {night.day: is_clear(night.cloud_pct, night.wind_m_s) for night in skies}
    found = {}
    for bench, read in _readings(collection, entries).items():
        held = collection.benches.get(bench)
        if held is None or held.floor_c is not None:
            continue
        apart = []
        for day, lows in sorted(read.items()):
            place = day - record.first_day
            known = record.kind == "daily" and 0 <= place < len(record.tmin_c)
            if known and sky.get(day, True) and np.isfinite(record.tmin_c[place]):
                apart.append(float(np.mean(lows)) - float(record.tmin_c[place]) - held.offset_c)
        if len(apart) >= READINGS_NEEDED:
            found[bench] = float(np.mean(apart)), max(float(np.std(apart, ddof=1)), _LEAST_SPREAD_C)
    return found


def _readings(collection: Collection, entries: Iterable[Entry]) -> Mapping[str, Mapping[int, list[float]]]:
    """Lows by bench and day: a note is of the bench its tree stood on by what was noted."""
    home = {tree.id: tree.bench for tree in collection.trees}
    found: defaultdict[str, defaultdict[int, list[float]]] = defaultdict(lambda: defaultdict(list))
    for entry in sorted(entries, key=lambda one: (one.day, one.tree)):
        if entry.moved_to:
            home[entry.tree] = entry.moved_to
        elif entry.low_c is not None and entry.tree in home:
            found[home[entry.tree]][entry.day].append(entry.low_c)
    return found
