"""A barrel lived through the years of a record: when it runs dry, and what a larger one would do."""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from care_planner.outlook.water.rainwater import BarrelDay, barrel_days
from care_planner.spans import MEAN_YEAR_DAYS

LARGER = (1.5, 2.0, 3.0, 5.0)


@dataclass(frozen=True)
class BarrelMonth:
    """A month (1 to 12) over the years: the share of years with a day short of water; litres held at its
    lowest in one year of ten, and in the middle year."""

    month: int
    short_years: float
    lowest_p10: float
    lowest_p50: float


@dataclass(frozen=True)
class BarrelYears:
    """Months, days short of water a year, and the same for larger barrels: (litres, days a year)."""

    years: int
    months: tuple[BarrelMonth, ...]
    short_days_a_year: float
    larger: tuple[tuple[float, float], ...]


def barrel_years(
    first_day: int,
    rain_mm: Sequence[float],
    demand: Sequence[float],
    *,
    litres: float,
    roof_m2: float,
    runoff: float,
    first_flush: float,
    empty_months: frozenset[int] = frozenset(),
) -> BarrelYears:
    """The barrel day by day over the record ([days] from `first_day`, ordinal), full at first.

    In `empty_months` it holds nothing and nothing is asked of it. A day without a reading brings nothing.
    """
    months = [date.fromordinal(first_day + n).month for n in range(len(rain_mm))]
    wanted = [
        0.0 if month in empty_months or math.isnan(need) else need
        for month, need in zip(months, demand, strict=True)
    ]
    rain = [0.0 if month in empty_months else fallen for month, fallen in zip(months, rain_mm, strict=True)]

    def lived(size: float) -> list[BarrelDay]:
        return barrel_days(
            rain,
            roof_m2=roof_m2,
            size=size,
            start=size,
            demand=wanted,
            runoff=runoff,
            first_flush=first_flush,
        )

    days = lived(litres)
    years = len(rain_mm) / MEAN_YEAR_DAYS
    found = tuple((litres * times, _short(lived(litres * times), wanted) / years) for times in LARGER)
    return BarrelYears(
        round(years), _months(first_day, days, wanted, empty_months), _short(days, wanted) / years, found
    )


def _short(days: Sequence[BarrelDay], wanted: Sequence[float]) -> int:
    return sum(1 for day, need in zip(days, wanted, strict=True) if day.taken < need - 1e-9)


def _months(
    first_day: int, days: Sequence[BarrelDay], wanted: Sequence[float], empty: frozenset[int]
) -> tuple[BarrelMonth, ...]:
    lowest: defaultdict[tuple[int, int], float] = defaultdict(lambda: math.inf)
    short: defaultdict[tuple[int, int], bool] = defaultdict(bool)
    for number, (day, need) in enumerate(zip(days, wanted, strict=True)):
        at = date.fromordinal(first_day + number)
        key = at.month, at.year
        lowest[key] = min(lowest[key], day.held)
        short[key] = short[key] or day.taken < need - 1e-9
    found = []
    for month in range(1, 13):
        held = sorted(value for (m, _), value in lowest.items() if m == month)
        if not held or month in empty:
            continue
        dry = [value for (m, _), value in short.items() if m == month]
        p10, p50 = held[(len(held) - 1) // 10], held[(len(held) - 1) // 2]
        found.append(BarrelMonth(month, sum(dry) / len(dry), p10, p50))
    return tuple(found)
