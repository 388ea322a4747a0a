"""The weather record: what was measured at the site, day by day, with its gaps and its source."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from care_planner.climate.gaps import SHORT_GAP_DAYS, Floats, fill_short_gaps, missing_runs
from care_planner.spans import MEAN_YEAR_DAYS

FLAT_FILL_DAYS = 5
_GAPS_NAMED = 5
_DAYS_ABOUT = 7


@dataclass(frozen=True, eq=False)
class WeatherRecord:
    """Daily weather on consecutive days, [days] an array, nan = missing. Temperatures in degC.

    `first_day` is the ordinal of index 0. `others` holds what else the source gives, by column name
    (precip_mm, rh_mean_pct, wind_m_s, sunshine_h, solar_mj_m2). `kind` is "monthly" where only twelve
    monthly means were known and the days were generated from them. `notes` are warnings for people.
    """

    first_day: int
    tmin_c: Floats
    tmax_c: Floats
    tmean_c: Floats
    others: Mapping[str, Floats] = field(default_factory=dict)
    source: str = ""
    kind: Literal["daily", "monthly"] = "daily"
    notes: tuple[str, ...] = ()

    @property
    def end_day(self) -> int:
        """The day after the last."""
        return self.first_day + len(self.tmin_c)

    def about(self, day: int) -> NDArray[np.bool_]:
        """Which of its days lie within a week of the date of `day` (ordinal), whatever the year, [days]."""
        days = np.arange(self.first_day, self.end_day)
        apart = np.abs((days - day + MEAN_YEAR_DAYS / 2) % MEAN_YEAR_DAYS - MEAN_YEAR_DAYS / 2)
        return np.asarray(apart <= _DAYS_ABOUT)


def daily_record(
    days: NDArray[np.int64], columns: Mapping[str, Floats], source: str, notes: tuple[str, ...] = ()
) -> WeatherRecord:
    """A record from rows in date order: `days` ([rows] ordinals, rising) and a column ([rows]) a name.

    `columns` needs tmin_c and tmax_c. Days without a row become missing; so do flat fills (the same Tmin
    and Tmax on `FLAT_FILL_DAYS` days and longer), which no thermometer gives.
    """
    first_day = int(days[0])
    places = days - first_day
    laid = {name: _lay(values, places) for name, values in columns.items()}
    tmin, tmax = laid.pop("tmin_c"), laid.pop("tmax_c")
    tmean = laid.pop("tmean_c", np.full(len(tmin), np.nan))
    flat = flat_fills(tmin, tmax)
    for start, end in flat:
        tmin[start:end] = tmax[start:end] = tmean[start:end] = np.nan
    tmean = np.where(np.isnan(tmean), (tmin + tmax) / 2, tmean)
    said = _flat_notes(flat, first_day) + _gap_notes(tmin, tmax, first_day)
    return WeatherRecord(first_day, tmin, tmax, tmean, laid, source, "daily", notes + said)


def flat_fills(tmin_c: Floats, tmax_c: Floats) -> list[tuple[int, int]]:
    """Runs (start in, end out) of at least `FLAT_FILL_DAYS` days with the same Tmin and the same Tmax."""
    same = (tmin_c[1:] == tmin_c[:-1]) & (tmax_c[1:] == tmax_c[:-1])
    runs = [(start, end + 1) for start, end in missing_runs(same)]
    return [(start, end) for start, end in runs if end - start >= FLAT_FILL_DAYS]


def counted(number: int, noun: str) -> str:
    """A number with its noun: 1 day, 2 days."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _lay(values: Floats, places: NDArray[np.int64]) -> Floats:
    laid = np.full(int(places[-1]) + 1, np.nan)
    laid[places] = values
    return laid


def _flat_notes(flat: list[tuple[int, int]], first_day: int) -> tuple[str, ...]:
    if not flat:
        return ()
    days = sum(end - start for start, end in flat)
    return (
        f"{days} days repeat one Tmin and Tmax for {FLAT_FILL_DAYS} days or longer and are taken as missing: "
        f"{_spans_text(flat, first_day)}",
    )


def _gap_notes(tmin: Floats, tmax: Floats, first_day: int) -> tuple[str, ...]:
    missing = np.isnan(tmin) | np.isnan(tmax)
    runs = missing_runs(missing)
    if not runs:
        return ()
    unfilled = np.isnan(fill_short_gaps(tmin)[0]) | np.isnan(fill_short_gaps(tmax)[0])
    interpolated = int(missing.sum() - unfilled.sum())
    days, gaps = counted(int(missing.sum()), "day"), counted(len(runs), "gap")
    notes = [f"{days} missing in {gaps}: {_spans_text(runs, first_day)}"]
    if interpolated:
        span = f"gaps of up to {SHORT_GAP_DAYS} days"
        notes.append(f"{interpolated} of them filled in from the days around them ({span})")
    return tuple(notes)


def _spans_text(runs: list[tuple[int, int]], first_day: int) -> str:
    """The longest runs by date, so that people can find them."""
    longest = sorted(sorted(runs, key=lambda run: run[0] - run[1])[:_GAPS_NAMED])
    texts = [_span_text(first_day + start, first_day + end - 1) for start, end in longest]
    more = len(runs) - len(longest)
    return ", ".join(texts) + (f" and {more} no longer than these" if more else "")


def _span_text(first: int, last: int) -> str:
    start = date.fromordinal(first).isoformat()
    return start if first == last else f"{start} to {date.fromordinal(last).isoformat()}"
