"""Two records of one place made one: the second goes on where the first ends, without a step between them.

What both hold is compared, and what the second shows warmer or colder on average is taken off it, the
season of the year minded where the overlap is long enough. What was done is told in the record's notes.
"""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from care_planner.climate.gaps import Floats
from care_planner.climate.record import WeatherRecord, daily_record
from care_planner.spans import MEAN_YEAR_DAYS

# Fewer shared days than this say little of a difference: a starting value.
FEWEST_SHARED = 30
# With this many shared days in ten months and more, the difference may change with the season.
YEAR_SHARED, YEAR_MONTHS = 300, 10
# Only the newest ten years are compared: stations are moved and gardens grow.
SHARED_DAYS = 3653
# Two stations of one district rarely differ by more than this on average: a starting value.
ANOTHER_PLACE_C = 5.0


@dataclass(frozen=True)
class Difference:
    """How the second record stands to the first: mean differences (degC, second minus first) over `days`."""

    days: int
    tmin_c: float = 0.0
    tmax_c: float = 0.0
    by_season: bool = False


def join_records(first: WeatherRecord, second: WeatherRecord) -> WeatherRecord:
    """`first`, and from its last day on `second` with its bias against the first taken off.

    Where the second holds no later day the first is returned, and a note says so.
    """
    if second.end_day <= first.end_day:
        said = f"{second.source} holds no day after {_iso(first.end_day - 1)}, where {first.source} ends"
        return _noted(first, said)
    difference, low, high = _bias(first, second)
    days = np.arange(first.first_day, second.end_day)
    later = slice(max(first.end_day, second.first_day) - second.first_day, None)
    columns = {
        "tmin_c": _laid(first, first.tmin_c, second, second.tmin_c - low, later, len(days)),
        "tmax_c": _laid(first, first.tmax_c, second, second.tmax_c - high, later, len(days)),
        "tmean_c": _laid(first, first.tmean_c, second, second.tmean_c - (low + high) / 2, later, len(days)),
    }
    for name in sorted({*first.others, *second.others}):
        own = first.others.get(name, np.full(len(first.tmin_c), np.nan))
        next_ = second.others.get(name, np.full(len(second.tmin_c), np.nan))
        columns[name] = _laid(first, own, second, next_, later, len(days))
    # A bias that differs between day and night may turn a day with little range upside down.
    crossed = columns["tmin_c"] > columns["tmax_c"]
    middle = (columns["tmin_c"] + columns["tmax_c"]) / 2
    columns["tmin_c"] = np.where(crossed, middle, columns["tmin_c"])
    columns["tmax_c"] = np.where(crossed, middle, columns["tmax_c"])
    notes = (_told(first, second, difference),)
    return daily_record(days, columns, f"{first.source}, then {second.source}", notes)


def _bias(first: WeatherRecord, second: WeatherRecord) -> tuple[Difference, Floats, Floats]:
    """The difference in words' numbers, and for each day of the second what is taken off it."""
    none = np.zeros(len(second.tmin_c))
    start, end = max(first.first_day, second.first_day), min(first.end_day, second.end_day)
    start = max(start, end - SHARED_DAYS)
    if end <= start:
        return Difference(0), none, none
    own, other = (
        slice(start - first.first_day, end - first.first_day),
        slice(start - second.first_day, end - second.first_day),
    )
    low, high = second.tmin_c[other] - first.tmin_c[own], second.tmax_c[other] - first.tmax_c[own]
    known = np.isfinite(low) & np.isfinite(high)
    days = np.arange(start, end)[known]
    if len(days) < FEWEST_SHARED:
        return Difference(len(days)), none, none
    months = {date.fromordinal(int(day)).month for day in days}
    by_season = len(days) >= YEAR_SHARED and len(months) >= YEAR_MONTHS
    every = np.arange(second.first_day, second.end_day)
    fitted = [_fitted(days, values[known], every, by_season) for values in (low, high)]
    mean = Difference(len(days), float(low[known].mean()), float(high[known].mean()), by_season)
    return mean, fitted[0], fitted[1]


def _fitted(days: NDArray[np.int64], values: Floats, every: NDArray[np.int64], by_season: bool) -> Floats:
    """The mean of the values, or one wave a year through them, on every day."""
    terms, wanted = _terms(days, by_season), _terms(every, by_season)
    found, *_ = np.linalg.lstsq(terms, values, rcond=None)
    laid: Floats = wanted @ found
    return laid


def _terms(days: NDArray[np.int64], by_season: bool) -> Floats:
    angle = 2 * np.pi * days / MEAN_YEAR_DAYS
    waves = [np.cos(angle), np.sin(angle)] if by_season else []
    return np.stack([np.ones(len(days)), *waves], axis=1)


def _laid(
    first: WeatherRecord, own: Floats, second: WeatherRecord, other: Floats, later: slice, days: int
) -> Floats:
    laid = np.full(days, np.nan)
    laid[: len(own)] = own
    laid[second.first_day + later.start - first.first_day :] = other[later]
    return laid


def _told(first: WeatherRecord, second: WeatherRecord, found: Difference) -> str:
    start = f"{second.source} goes on where {first.source} ends ({_iso(first.end_day - 1)})"
    if found.days < FEWEST_SHARED:
        return (
            f"{start}; they share {found.days} days, too few to compare, so nothing is taken off "
            "and there may be a step between them"
        )
    nights, days = _warmer(found.tmin_c), _warmer(found.tmax_c)
    said = (
        f"{start}; on {found.days} shared days its nights were {nights}, its days {days}: that is taken off"
    )
    if found.by_season:
        said += ", by season"
    if max(abs(found.tmin_c), abs(found.tmax_c)) > ANOTHER_PLACE_C:
        said += "; so large a difference means another kind of place: is it the right station?"
    return said


def _warmer(by_c: float) -> str:
    if abs(by_c) < 0.05:
        return "the same"
    return f"{abs(by_c):.1f} degC {'warmer' if by_c > 0 else 'colder'}"


def _noted(record: WeatherRecord, said: str) -> WeatherRecord:
    return replace(record, notes=(*record.notes, said))


def _iso(day: int) -> str:
    return date.fromordinal(day).isoformat()
