"""Each past year of the record laid over the stretch to be planned: the equally likely futures."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from care_planner.climate.gaps import Floats, fill_temperatures
from care_planner.climate.record import WeatherRecord, counted
from care_planner.spans import season_of, season_start

# A season with more missing days than this is not used. Precedent: the Utah Climate Center voids a year
# with 10 missing days before the freeze date.
MOST_MISSING_DAYS = 10


@dataclass(frozen=True, eq=False)
class WeatherYears:
    """Weather of the planned stretch, one row for each usable season of the record.

    first_day: ordinal of column 0.
    tmin_c, tmax_c, tmean_c: [years, days], degC, after short gaps were filled; nan where still missing.
    labels: for each row, the record's season that it holds in the season of today.
    left_out: seasons of the record that are not used, or not whole, and why.
    observed_until: ordinal, end out: from first_day to here every day is observed, equal in every row.
    observed: [days], True where the column is observed weather (also beyond a hole in what was observed).
    """

    first_day: int
    tmin_c: Floats
    tmax_c: Floats
    tmean_c: Floats
    labels: tuple[int, ...]
    left_out: tuple[tuple[int, str], ...]
    observed_until: int
    observed: NDArray[np.bool_]
    warming_c: float = 0.0  # degC a year by which old years were moved up to the record's end


def usable_years(record: WeatherRecord, south: bool) -> tuple[list[int], list[tuple[int, str]]]:
    """The record's seasons that become rows, and those not used whole or not at all, with the reason.

    A season inside the record with more than `MOST_MISSING_DAYS` missing days keeps its row while half of
    it is known: what needs the missing days is unknown there, what does not need them is not.
    """
    tmin, tmax, _ = fill_temperatures(record.tmin_c, record.tmax_c, record.tmean_c)
    known = ~(np.isnan(tmin) | np.isnan(tmax))
    usable, left_out = [], []
    for season in range(season_of(record.first_day, south), season_of(record.end_day - 1, south) + 1):
        start, end = season_start(season, south), season_start(season + 1, south)
        held = known[max(start - record.first_day, 0) : end - record.first_day]
        missing = end - start - int(held.sum())
        if missing <= MOST_MISSING_DAYS:
            usable.append(season)
        else:
            partial = start < record.first_day or end > record.end_day
            why = f"{counted(missing, 'day')} of {end - start} missing"
            if not partial and missing <= (end - start) // 2:
                usable.append(season)
                why += ", left out only where those days are needed"
            left_out.append((season, f"the record holds only part of it ({why})" if partial else why))
    return usable, left_out


def lay_weather_years(
    record: WeatherRecord,
    south: bool,
    first_day: int,
    end_day: int,
    today: int,
    old: WeatherRecord | None = None,
) -> WeatherYears:
    """The usable seasons of `record` laid over `first_day` (in) to `end_day` (out).

    The row of season y holds y in the season of `today`, the usable season before y in the season before,
    the one after y in the next, wrapping round; so autumn and spring of one row belong together. Days keep
    their distance from the season's start. What the record holds for days of the stretch before `today`
    has happened and replaces the same days in every row. `old` is the record as the past years are to be
    taken from it, its days changed (see trend.py); what has happened is never changed.
    """
    usable, left_out = usable_years(record, south)
    filled = fill_temperatures(record.tmin_c, record.tmax_c, record.tmean_c)
    source = filled if old is None else fill_temperatures(old.tmin_c, old.tmax_c, old.tmean_c)
    known = ~(np.isnan(filled[0]) | np.isnan(filled[1]))
    places = _record_places(record, known, usable, south, first_day, end_day, today)
    # Place -1, the day after the last, stands for a day outside the record.
    laid = [np.ascontiguousarray(np.append(values, np.nan)[places]) for values in source]
    observed = np.zeros(end_day - first_day, dtype=np.bool_)
    held = range(max(first_day, record.first_day), min(end_day, record.end_day, today))
    if held:
        columns = slice(held.start - first_day, held.stop - first_day)
        there = slice(held.start - record.first_day, held.stop - record.first_day)
        observed[columns] = known[there]
        for rows, values in zip(laid, filled, strict=True):
            rows[:, columns] = np.where(observed[columns], values[there], rows[:, columns])
    unbroken = len(observed) if observed.all() else int(np.argmin(observed))
    tmin, tmax, tmean = laid
    return WeatherYears(
        first_day, tmin, tmax, tmean, tuple(usable), tuple(left_out), first_day + unbroken, observed
    )


def _record_places(
    record: WeatherRecord,
    known: NDArray[np.bool_],
    usable: list[int],
    south: bool,
    first_day: int,
    end_day: int,
    today: int,
) -> NDArray[np.int64]:
    """Where in the record each row finds each of its days ([years, days]); -1 for outside it."""
    base = season_of(today, south)
    places = np.empty((len(usable), end_day - first_day), dtype=np.int64)
    for season in range(season_of(first_day, south), season_of(end_day - 1, south) + 1):
        start = season_start(season, south)
        days = np.arange(max(start, first_day), min(season_start(season + 1, south), end_day))
        for row in range(len(usable)):
            given = usable[(row + season - base) % len(usable)]
            given_start, given_end = season_start(given, south), season_start(given + 1, south)
            found = days - start + given_start - record.first_day
            # A leap season's last day, laid from a common one, is the day after that season, if known.
            extra = given_end - record.first_day
            if not (0 <= extra < len(known) and known[extra]):
                found[found == extra] -= 1
            places[row, days - first_day] = found
    outside = (places < 0) | (places >= len(known))
    return np.where(outside, -1, places)
