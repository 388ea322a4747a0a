"""How much colder a bench is than the record on clear, still nights, from lows that the grower read there."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from care_planner.climate.outlook import NightSky
from care_planner.climate.record import WeatherRecord
from care_planner.collection.model import Collection
from care_planner.journal.model import Entry
from care_planner.outlook.watch.bench_sky import Learned, SkyOfBench, halved, is_clear

# From so many readings of clear nights on they stand in place of what is usual: ten mornings beat all of it.
READINGS_NEEDED = 10
# A thermometer by the pots is no nearer to the plant than this: a starting value.
_LEAST_SPREAD_C = 0.3
# A reading so many standard deviations from the middle, and so many degC at the least, is a slip: ours. The
# spread is told by the median of the distances, which a slip does not move (1.4826 for a normal law).
_MOST_SPREADS, _NEVER_ODD_C, _MAD_TO_SD, _FEWEST_TO_COMPARE = 4.0, 6.0, 1.4826, 5


@dataclass(frozen=True)
class OddLow:
    """A reading that is too far from the others of its bench to be one of them: it counts for nothing."""

    bench: str
    day: int
    low_c: float


def learned_skies(
    collection: Collection, entries: Iterable[Entry], record: WeatherRecord, skies: Iterable[NightSky]
) -> tuple[Learned, tuple[OddLow, ...]]:
    """By bench what a night adds to the record's low and the bench's own offset; and the readings left out.
    Only benches with `READINGS_NEEDED` readings of clear nights, or of nights whose sky nobody told.

    Two readings of a bench on one morning are one. A bench with a floor has no sky over it.
    """
    sky = {night.day: is_clear(night.cloud_pct, night.wind_m_s) for night in skies}
    found: dict[str, SkyOfBench] = {}
    odd: list[OddLow] = []
    for bench, read in _readings(collection, entries).items():
        held = collection.benches.get(bench)
        if held is None or held.floor_c is not None:
            continue
        apart = {}
        for day, lows in sorted(read.items()):
            place = day - record.first_day
            known = record.kind == "daily" and 0 <= place < len(record.tmin_c)
            if known and sky.get(day, True) and np.isfinite(record.tmin_c[place]):
                apart[day] = float(np.mean(lows)) - float(record.tmin_c[place]) - held.offset_c
        off = _far_from_the_others(apart)
        odd += [OddLow(bench, day, float(np.mean(read[day]))) for day in off]
        learned = _learned({day: by for day, by in apart.items() if day not in off}, sky)
        if learned is not None:
            found[bench] = learned
    return found, tuple(odd)


def _learned(apart: Mapping[int, float], sky: Mapping[int, bool]) -> SkyOfBench | None:
    """By clear nights where there are enough of them. Nights of an unknown sky are clear ones and others in
    the mixture in which they come, so of another such night all of it is taken and not half."""
    clear = [by for day, by in apart.items() if day in sky]
    untold = [by for day, by in apart.items() if day not in sky]
    if len(clear) >= READINGS_NEEDED:
        own = _mean_and_spread(clear)
        return SkyOfBench(own, _mean_and_spread(untold) if len(untold) >= READINGS_NEEDED else halved(own))
    if len(apart) >= READINGS_NEEDED:
        both = _mean_and_spread([*clear, *untold])
        return SkyOfBench(both, both)
    return None


def _mean_and_spread(apart: Sequence[float]) -> tuple[float, float]:
    return float(np.mean(apart)), max(float(np.std(apart, ddof=1)), _LEAST_SPREAD_C)


def _far_from_the_others(apart: Mapping[int, float]) -> frozenset[int]:
    """Days whose reading lies far from the middle of all; of a few readings none can be told to be odd."""
    if len(apart) < _FEWEST_TO_COMPARE:
        return frozenset()
    middle = float(np.median(list(apart.values())))
    usual = float(np.median([abs(by - middle) for by in apart.values()])) * _MAD_TO_SD
    most = max(_MOST_SPREADS * usual, _NEVER_ODD_C)
    return frozenset(day for day, by in apart.items() if abs(by - middle) > most)


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
