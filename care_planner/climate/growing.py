"""A CSV that a weather station of one's own adds to every day: what its new rows say.

A bad row is told and becomes a gap; it never stops a plan, for nobody stands beside the machine that
writes it.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from care_planner.climate.gaps import Floats
from care_planner.climate.weather_checks import value_problems
from care_planner.climate.weather_table import FAHRENHEIT, WeatherTable, parse_table
from care_planner.problems import Problem

MOST_TOLD = 5
# Stores keep two decimals, so a value read again may differ by half of the last.
_SAME_C = 0.006


@dataclass(frozen=True, eq=False)
class GoodRows:
    """The rows that can be used: ordinals ([rows], rising) and columns ([rows]) in degC, by name.

    `first_future` is the line of the text on which the first day after today stands; 0: there is none.
    """

    days: NDArray[np.int64]
    columns: dict[str, Floats]
    first_future: int = 0

    def until(self, today: int) -> "GoodRows":
        """The rows up to and with a day."""
        past = self.days <= today
        return GoodRows(self.days[past], {name: values[past] for name, values in self.columns.items()})


NO_ROWS = GoodRows(np.empty(0, dtype=np.int64), {"tmin_c": np.empty(0), "tmax_c": np.empty(0)})


def good_rows(
    text: str, file: str, today: int, known: GoodRows = NO_ROWS, first_line: int = 1
) -> tuple[GoodRows | None, list[str]]:
    """The usable rows of `text`, a header and rows, and what was wrong with the others, in words.

    Days after `today` are refused. `known` are the rows that were read before: a day told with other values
    than there is named. `first_line` is the line of the file on which the first row after the header stands.
    None where the header itself cannot be used. Rows may come in any order; of a day that stands twice each
    value counts as it stands last.
    """
    table, problems = parse_table(text, file)
    if table is None:
        header = [p for p in problems if "no day follows the header" not in p.what]
        return (None if header else NO_ROWS), _told(header, 0)
    future = [_of_the_future(table, int(place), file, today) for place in np.flatnonzero(table.days > today)]
    problems = sorted([*problems, *value_problems(table, file), *future], key=lambda problem: problem.line)
    bad = {problem.line for problem in problems}
    good = np.array([line not in bad for line in table.lines.tolist()], dtype=np.bool_) & (table.days > 0)
    shift = first_line - 2 if first_line > 1 else 0
    lines, days = table.lines[good], table.days[good]
    columns = _in_celsius({name: values[good] for name, values in table.columns.items()})
    rows, twice = _one_row_a_day(lines + shift, days, columns)
    twice += _other_than_known(rows, known, today)
    told = [*_told(problems, shift), *_at_most([f"{file}{words}" for words in twice], file)]
    return GoodRows(rows.days, rows.columns, min((p.line for p in future), default=0)), told


def merge_rows(old: GoodRows, new: GoodRows) -> GoodRows:
    """Old rows and new ones; where both know a value of a day the new one stands.

    An empty cell takes nothing away. Where a new low beside an old high, or the reverse, cannot be of one
    day, the old ones stand.
    """
    days = np.union1d(old.days, new.days)
    columns, before = {}, {}
    for name in sorted({*old.columns, *new.columns}):
        laid = np.full(len(days), np.nan)
        for part in (old, new):
            if name in part.columns:
                places, values = np.searchsorted(days, part.days), part.columns[name]
                laid[places] = np.where(np.isnan(values), laid[places], values)
            if part is old:
                before[name] = laid.copy()
        columns[name] = laid
    crossed = columns["tmin_c"] > columns["tmax_c"]
    for name in ("tmin_c", "tmax_c"):
        columns[name] = np.where(crossed, before[name], columns[name])
    return GoodRows(days, columns)


def _of_the_future(table: WeatherTable, place: int, file: str, today: int) -> Problem:
    what = f"dated {date.fromordinal(int(table.days[place]))}, which is after today"
    return Problem(file, int(table.lines[place]), what, f"allowed: {date.fromordinal(today)} or earlier")


def _in_celsius(columns: dict[str, Floats]) -> dict[str, Floats]:
    if FAHRENHEIT[0] in columns:
        columns["tmin_c"] = (columns.pop("tmin_f") - 32) / 1.8
        columns["tmax_c"] = (columns.pop("tmax_f") - 32) / 1.8
    return columns


def _one_row_a_day(
    lines: NDArray[np.int64], days: NDArray[np.int64], columns: dict[str, Floats]
) -> tuple[GoodRows, list[str]]:
    """Each day once, every value as it stands last; and in words which days have different ones there."""
    unique, place = np.unique(days, return_inverse=True)
    last = np.zeros(len(unique), dtype=np.int64)
    last[place] = np.arange(len(days))
    once, differ = {}, np.zeros(len(unique), dtype=np.bool_)
    for name, values in columns.items():
        known = ~np.isnan(values)
        once[name] = np.full(len(unique), np.nan)
        once[name][place[known]] = values[known]  # of a place named twice the later value stays
        if name in ("tmin_c", "tmax_c"):
            lowest, highest = np.full((2, len(unique)), np.nan)
            np.fmin.at(lowest, place, values)
            np.fmax.at(highest, place, values)
            differ |= highest - lowest > _SAME_C
    crossed = once["tmin_c"] > once["tmax_c"]
    for name in ("tmin_c", "tmax_c"):
        once[name] = np.where(crossed, columns[name][last], once[name])
    words = [
        f":{lines[last[at]]}: {date.fromordinal(int(unique[at]))} stands in the file more than once with "
        "different values; the last ones count"
        for at in np.flatnonzero(differ)
    ]
    return GoodRows(unique, once), words


def _other_than_known(rows: GoodRows, known: GoodRows, today: int) -> list[str]:
    """The days that were read before with other values; not yesterday and today, which may have gone on."""
    past = rows.until(today - 2)
    return [
        f": {date.fromordinal(int(past.days[place]))} was read before with other values; what stands there "
        "now counts"
        for place in _differing(known, past)
    ]


def _differing(old: GoodRows, new: GoodRows) -> list[int]:
    """The rows of `new` whose temperatures are known to `old` as others."""
    at = np.searchsorted(old.days, new.days)
    both = np.isin(new.days, old.days)
    differ = np.zeros(len(new.days), dtype=np.bool_)
    for name in ("tmin_c", "tmax_c"):
        before = old.columns[name][np.where(both, at, 0)] if both.any() else np.full(len(both), np.nan)
        differ |= both & (np.abs(before - new.columns[name]) > _SAME_C)
    return [int(place) for place in np.flatnonzero(differ)]


def _told(problems: list[Problem], shift: int) -> list[str]:
    """The first mistakes with their lines in the file, and how many more."""
    lines = [str(Problem(p.file, p.line + shift if p.line else 0, p.what, p.allowed)) for p in problems]
    return _at_most(
        [f"{line}: this day is taken as missing" for line in lines], problems[0].file if lines else ""
    )


def _at_most(told: list[str], file: str) -> list[str]:
    more = len(told) - MOST_TOLD
    return [*told[:MOST_TOLD], f"{file}: and {more} more rows like these"] if more > 0 else told
