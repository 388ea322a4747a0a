"""A weather forecast by days of the site, and how a service's periods become such days.

A day's Tmin is the lowest of the night that ends in its morning, as in a daily record; its Tmax the highest
of its daytime. Both come from the services' own minimum and maximum of a period: the lowest of hourly or
6-hourly values misses the coldest moment by half a degree to two (measured on an open MOSMIX file).
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo

import numpy as np

from care_planner.climate.gaps import Floats

# A period says something of a night or a daytime with half of its hours in it; with this many where need be.
_HOURS_INSIDE = 3.0
# Hours, after the site's midnight: where Tmin and Tmax of a day are looked for, and the core of each that the
# periods must cover by so many hours, or the day stays unknown.
_NIGHT, _NIGHT_CORE, _NIGHT_KNOWN = (-3.0, 9.0), (0.0, 8.0), 6.0
MOST_DAYS = 60  # far beyond what any service gives; more is a mistake that would fill the memory
FORECAST_YEARS = range(1900, 2200)  # time zones cannot be applied at the ends of the calendar
_DAYTIME, _DAYTIME_CORE, _DAYTIME_KNOWN = (9.0, 21.0), (11.0, 17.0), 4.0


@dataclass(frozen=True)
class Period:
    """Hours from `start` (aware, in) on, with what a service says of them; nan where it says nothing."""

    start: datetime
    hours: float
    low_c: float = math.nan
    high_c: float = math.nan
    rain_mm: float = math.nan


@dataclass(frozen=True)
class Instant:
    """What a service says of a moment: degC spread (standard deviation), cloud in %, wind in m/s."""

    at: datetime
    sd_c: float = math.nan
    cloud_pct: float = math.nan
    wind_m_s: float = math.nan


@dataclass(frozen=True, eq=False)
class Forecast:
    """One issue of a forecast: days of the site from `first_day` (ordinal), [days] an array, nan = unknown.

    sd_c: the service's own spread of the night's low, where it gives one. cloud_pct and wind_m_s are means of
    the night. rain_mm: what falls on the day, for the day of issue what is still to come.
    """

    service: str
    issued: datetime
    first_day: int
    tmin_c: Floats
    tmax_c: Floats
    rain_mm: Floats
    sd_c: Floats
    cloud_pct: Floats
    wind_m_s: Floats

    @property
    def end_day(self) -> int:
        """The day after the last."""
        return self.first_day + len(self.tmin_c)


def by_days(
    service: str,
    issued: datetime,
    periods: Sequence[Period],
    instants: Sequence[Instant],
    zone: tzinfo,
) -> Forecast | None:
    """The days of the site (`zone`) that the periods speak of; None where they give no Tmin and no Tmax.

    ValueError where they speak of days that no forecast reaches.
    """
    issued_day = issued.astimezone(zone).date().toordinal()
    ends = [(p.start + timedelta(hours=p.hours)).astimezone(zone).date().toordinal() for p in periods]
    if max(ends, default=issued_day) > issued_day + MOST_DAYS:
        raise ValueError(f"it speaks of days more than {MOST_DAYS} after it was issued")
    days = range(issued_day, max(ends, default=issued_day) + 1)
    tmin = [_extreme(periods, _midnight(day, zone), low=True) for day in days]
    tmax = [_extreme(periods, _midnight(day, zone), low=False) for day in days]
    known = [not (math.isnan(low) and math.isnan(high)) for low, high in zip(tmin, tmax, strict=True)]
    if not any(known):
        return None
    last = len(known) - known[::-1].index(True)
    held = list(days)[:last]
    nights = [_night_means(instants, _midnight(day, zone)) for day in held]
    sd, cloud, wind = (np.array(values, dtype=np.float64) for values in zip(*nights, strict=True))
    rain = np.array([_rain(periods, _midnight(day, zone)) for day in held])
    return Forecast(
        *(service, issued, held[0], np.array(tmin[:last]), np.array(tmax[:last]), rain, sd, cloud, wind)
    )


def _midnight(day: int, zone: tzinfo) -> datetime:
    return datetime.fromordinal(day).replace(tzinfo=zone)


def _hours_after(midnight: datetime, at: datetime) -> float:
    return (at.astimezone(UTC) - midnight.astimezone(UTC)).total_seconds() / 3600


def _extreme(periods: Iterable[Period], midnight: datetime, *, low: bool) -> float:
    """The lowest of a day's night or the highest of its daytime; nan where too little of it is covered."""
    window, core, needed = (
        (_NIGHT, _NIGHT_CORE, _NIGHT_KNOWN) if low else (_DAYTIME, _DAYTIME_CORE, _DAYTIME_KNOWN)
    )
    mostly, partly = [], []
    for period in periods:
        value = period.low_c if low else period.high_c
        if math.isnan(value):
            continue
        start = _hours_after(midnight, period.start)
        inside = min(start + period.hours, window[1]) - max(start, window[0])
        span = (max(start, core[0]), min(start + period.hours, core[1]))
        if inside >= period.hours / 2:
            mostly.append((value, span))
        elif inside >= _HOURS_INSIDE:
            partly.append((value, span))
    # A period that lies mostly elsewhere, such as a daytime's lowest, is asked only where the others leave
    # too much of the night unknown: twelve hours of UTC are cut at 5 in the morning in some places.
    for held in (mostly, mostly + partly):
        if held and _union(span for _, span in held) >= needed:
            values = [value for value, _ in held]
            return min(values) if low else max(values)
    return math.nan


def _union(spans: Iterable[tuple[float, float]]) -> float:
    total, reached = 0.0, -math.inf
    for start, end in sorted(spans):
        start = max(start, reached)
        if end > start:
            total += end - start
            reached = end
    return total


def _rain(periods: Iterable[Period], midnight: datetime) -> float:
    """Rain of a day: each period's share by hours; nan where no period speaks of it."""
    total, told = 0.0, False
    for period in periods:
        if math.isnan(period.rain_mm) or period.hours <= 0:
            continue
        start = _hours_after(midnight, period.start)
        inside = min(start + period.hours, 24.0) - max(start, 0.0)
        if inside > 0:
            total += period.rain_mm * inside / period.hours
            told = True
    return total if told else math.nan


def _night_means(instants: Iterable[Instant], midnight: datetime) -> tuple[float, float, float]:
    held = [at for at in instants if _NIGHT_CORE[0] <= _hours_after(midnight, at.at) < _NIGHT_CORE[1]]
    return (
        _mean([at.sd_c for at in held]),
        _mean([at.cloud_pct for at in held]),
        _mean([at.wind_m_s for at in held]),
    )


def _mean(values: Sequence[float]) -> float:
    known = [value for value in values if not math.isnan(value)]
    return sum(known) / len(known) if known else math.nan


def instant_of(text: str) -> datetime:
    """An ISO time with its zone, such as 2027-03-28T13:04:26Z. ValueError for anything else."""
    found = datetime.fromisoformat(text.strip())
    if found.year not in FORECAST_YEARS:
        raise ValueError(f"no time of a forecast: {text!r}")
    if found.tzinfo is None:
        raise ValueError(f"no time zone in {text!r}")
    return found.astimezone(UTC)
