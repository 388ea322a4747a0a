"""How often the record had a killing night about a date: what silence means without a forecast."""

from collections.abc import Mapping, Sequence

import numpy as np

from care_planner.climate.benches import on_bench
from care_planner.climate.record import WeatherRecord
from care_planner.outlook.watch.bench_sky import NOTHING_READ, BenchUnderSky, Learned, sky_of
from care_planner.years.standing import Stand


def usual_chance(
    record: WeatherRecord,
    day: int,
    standing: Mapping[str, Sequence[Stand]],
    benches: Mapping[str, BenchUnderSky],
    learned: Learned = NOTHING_READ,
) -> float:
    """The share of the record's nights within a week of the date that reach the limit of any tree, 0 to 1.

    What of a bench's warmth goes to the sky is taken as on a night of which no cloud is told.
    """
    lows = record.tmin_c[record.about(day)]
    lows = lows[~np.isnan(lows)]
    if not lows.size or not standing:
        return 0.0
    hurt = np.zeros(len(lows), dtype=np.bool_)
    limits: dict[str, float] = {}
    for trees in standing.values():
        for tree in trees:
            for name in filter(None, (tree.bench, tree.elsewhere)):
                limits[name] = max(tree.limit_c, limits.get(name, tree.limit_c))
    for name, limit_c in limits.items():
        bench = benches[name]
        under_sky = lows + sky_of(name, bench, learned).untold[0]
        at_bench, _ = on_bench(under_sky, under_sky, offset_c=bench.offset_c, floor_c=bench.floor_c)
        hurt |= at_bench <= limit_c
    return float(hurt.mean())
