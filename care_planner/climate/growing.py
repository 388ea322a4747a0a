"""A CSV that a weather station of one's own adds to every day: what its new rows say.

A bad row is told and becomes a gap; it never stops a plan, for nobody stands beside the machine that
writes it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from care_planner.climate.gaps import Floats
from care_planner.climate.weather_checks import value_problems
from care_planner.climate.weather_table import FAHRENHEIT, WeatherTable, parse_table
from care_planner.problems import Problem

MOST_TOLD = 5


@dataclass(frozen=True, eq=False)
class GoodRows:
    """The rows that can be used: ordinals ([rows], rising) and columns ([rows]) in degC, by name."""

    days: NDArray[np.int64]
    columns: dict[str, Floats]


NO_ROWS = GoodRows(np.empty(0, dtype=np.int64), {"tmin_c": np.empty(0), "tmax_c": np.empty(0)})


def good_rows(text: str, file: str, first_line: int = 1) -> tuple[GoodRows | None, list[str]]:
    """The usable rows of `text`, a header and rows, and what was wrong with the others, in words.

    `first_line` is the line of the file on which the first row after the header stands. None where the header
    itself cannot be used. Rows may come in any order; a day that stands twice counts as it stands last.
    """
    table, problems = parse_table(text, file)
    if table is None:
        header = [p for p in problems if "no day follows the header" not in p.what]
        return (None if header else NO_ROWS), _told(header, 0)
    problems = sorted([*problems, *value_problems(table, file)], key=lambda problem: problem.line)
    bad = {problem.line for problem in problems}
    good = np.array([line not in bad for line in table.lines.tolist()], dtype=np.bool_) & (table.days > 0)
    shift = first_line - 2 if first_line > 1 else 0
    rows = _last_of_each_day(table, good)
    return rows, _told(problems, shift)


def merge_rows(old: GoodRows, new: GoodRows) -> GoodRows:
    """Old rows and new ones; where both hold a day the new row stands."""
    days = np.union1d(old.days, new.days)
    columns = {}
    for name in sorted({*old.columns, *new.columns}):
        laid = np.full(len(days), np.nan)
        for part in (old, new):
            if name in part.columns:
                laid[np.searchsorted(days, part.days)] = part.columns[name]
        columns[name] = laid
    return GoodRows(days, columns)


def _last_of_each_day(table: WeatherTable, good: NDArray[np.bool_]) -> GoodRows:
    days = table.days[good]
    unique, from_behind = np.unique(days[::-1], return_index=True)
    places = len(days) - 1 - from_behind
    columns = {name: values[good][places] for name, values in table.columns.items()}
    if FAHRENHEIT[0] in columns:
        columns["tmin_c"] = (columns.pop("tmin_f") - 32) / 1.8
        columns["tmax_c"] = (columns.pop("tmax_f") - 32) / 1.8
    return GoodRows(unique, columns)


def _told(problems: list[Problem], shift: int) -> list[str]:
    """The first mistakes with their lines in the file, and how many more."""
    lines = [str(Problem(p.file, p.line + shift if p.line else 0, p.what, p.allowed)) for p in problems]
    told = [f"{line}: this day is taken as missing" for line in lines[:MOST_TOLD]]
    if len(lines) > MOST_TOLD:
        told.append(f"{problems[0].file}: and {len(lines) - MOST_TOLD} more rows like these")
    return told
