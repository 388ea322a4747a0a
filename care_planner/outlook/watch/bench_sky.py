"""What a bench makes of a night: its own offset, its floor, and the warmth that it loses to a clear sky."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from care_planner.climate.benches import on_bench
from care_planner.climate.outlook import OutlookDay
from care_planner.stages.weather import BenchLike

# How much colder than the screen a bench is on a clear, still night (degC, and how far that is off): grass
# minima lie 1.8 to 5 K lower on ten April nights in one MOSMIX file; the rest is judgement.
CLEAR_NIGHT: Mapping[str, tuple[float, float]] = {
    "ground": (-3.0, 0.8),
    "raised": (-1.0, 0.5),
    "under-eaves": (0.0, 0.3),
}
_CLEAR_CLOUD_PCT, _STILL_WIND_M_S = 25.0, 2.0


class BenchUnderSky(BenchLike, Protocol):
    """What a bench does to the air, and how it stands under the sky."""

    @property
    def stands(self) -> str | None: ...


@dataclass(frozen=True)
class SkyOfBench:
    """degC that the sky adds to a low at a bench, and its spread: on a clear, still night, and on one of
    which neither cloud nor wind is known."""

    clear: tuple[float, float]
    untold: tuple[float, float]


# By bench: what the grower's own readings say of it (see bench_lows.py).
Learned = Mapping[str, SkyOfBench]
NOTHING_READ: Learned = {}
_NONE = SkyOfBench((0.0, 0.0), (0.0, 0.0))


@dataclass(frozen=True)
class BenchNight:
    """What is expected at a bench: the low (or the high), its spread (degC), and the sky's part in it."""

    bench: str
    expected_c: float
    sd_c: float
    sky_c: float = 0.0


def halved(clear: tuple[float, float]) -> tuple[float, float]:
    """What is taken of a night that may be clear or not: half of it, and as much more spread."""
    colder, spread = clear
    return colder / 2, float(np.hypot(spread, colder / 2))


def sky_of(name: str, bench: BenchUnderSky, learned: Learned = NOTHING_READ) -> SkyOfBench:
    """What the sky does to a bench: by its own readings, else as is usual for how it stands."""
    if name in learned:
        return learned[name]
    usual = CLEAR_NIGHT[bench.stands] if bench.stands is not None else None
    return _NONE if usual is None else SkyOfBench(usual, halved(usual))


def is_clear(cloud_pct: float, wind_m_s: float) -> bool:
    """Whether a night is clear and still enough for a bench to lose its warmth to the sky."""
    return cloud_pct < _CLEAR_CLOUD_PCT and wind_m_s < _STILL_WIND_M_S


def bench_night(
    name: str, bench: BenchUnderSky, expected: OutlookDay, learned: Learned = NOTHING_READ
) -> BenchNight:
    """The low expected at a bench."""
    of_bench = sky_of(name, bench, learned)
    if np.isnan(expected.cloud_pct) or np.isnan(expected.wind_m_s):
        sky, sky_sd = of_bench.untold
    else:
        sky, sky_sd = of_bench.clear if is_clear(expected.cloud_pct, expected.wind_m_s) else (0.0, 0.0)
    low = np.array([expected.tmin_c + sky])
    at_bench, _ = on_bench(low, low, offset_c=bench.offset_c, floor_c=bench.floor_c)
    return BenchNight(name, float(at_bench[0]), float(np.hypot(expected.tmin_sd_c, sky_sd)), sky)


def bench_day(name: str, bench: BenchUnderSky, expected: OutlookDay) -> BenchNight:
    """The high expected at a bench."""
    high = np.array([expected.tmax_c])
    _, at_bench = on_bench(high, high, offset_c=bench.offset_c, floor_c=bench.floor_c, vent_c=bench.vent_c)
    return BenchNight(name, float(at_bench[0]), expected.tmax_sd_c)
