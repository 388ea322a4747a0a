"""The text of a weather CSV -> its columns, with every cell that is no date or no number as a mistake."""

import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from care_planner.climate.gaps import Floats
from care_planner.climate.plain_number import plain_number
from care_planner.problems import Problem, nearest

CELSIUS = ("tmin_c", "tmax_c")
FAHRENHEIT = ("tmin_f", "tmax_f")
OPTIONAL = ("tmean_c", "precip_mm", "rh_mean_pct", "wind_m_s", "sunshine_h", "solar_mj_m2")
KNOWN = ("date", *CELSIUS, *FAHRENHEIT, *OPTIONAL)
YEARS = (1750, 2150)

_NEEDED = "needed: date,tmin_c,tmax_c or date,tmin_f,tmax_f"
_DATE_ALLOWED = f"allowed: an existing day as year-month-day, such as 2024-02-29, {YEARS[0]} to {YEARS[1]}"
_NUMBER_ALLOWED = "allowed: a number such as -3.5, or an empty cell where the day is missing"


@dataclass(frozen=True, eq=False)
class WeatherTable:
    """The rows of a weather CSV: line numbers and ordinals ([rows]; 0 = no date), a column ([rows]) a name.

    Values keep the unit their column's name says; nan = an empty cell, or one with a mistake.
    """

    header_line: int
    lines: NDArray[np.int64]
    days: NDArray[np.int64]
    columns: dict[str, Floats]

    @property
    def temperature_names(self) -> tuple[str, str]:
        """The names of the Tmin and Tmax columns."""
        return FAHRENHEIT if FAHRENHEIT[0] in self.columns else CELSIUS


def parse_table(text: str, file: str) -> tuple[WeatherTable | None, list[Problem]]:
    """The table in `text`, and all mistakes in it. None where the header cannot be used or no row follows."""
    rows, lines, problems = _read_rows(text, file)
    if not rows:
        return None, problems or [Problem(file, 0, "is empty", _NEEDED)]
    header_line, names = lines[0], [name.strip().lower() for name in rows[0]]
    faults = _header_problems(names, Problem(file, header_line, "", _NEEDED), ",".join(rows[0]))
    if faults:
        return None, faults
    kept, kept_lines = [], []
    for row, line in zip(rows[1:], lines[1:], strict=True):
        if len(row) == len(names):
            kept.append(row)
            kept_lines.append(line)
        else:
            what = f"{len(row)} cells in this row"
            problems.append(Problem(file, line, what, f"the header has {len(names)}"))
    if not kept:
        return None, problems or [Problem(file, header_line, "no day follows the header", _NEEDED)]
    cells = dict(zip(names, zip(*kept, strict=True), strict=True))
    days = _days(cells["date"], kept_lines, file, problems)
    columns = {
        name: _numbers(name, cells[name], kept_lines, file, problems) for name in KNOWN[1:] if name in cells
    }
    return WeatherTable(header_line, np.array(kept_lines, dtype=np.int64), days, columns), problems


def _read_rows(text: str, file: str) -> tuple[list[list[str]], list[int], list[Problem]]:
    """Rows that hold anything and their line numbers; the first is the header, after `#` comments."""
    rows: list[list[str]] = []
    lines: list[int] = []
    stream = io.StringIO(text, newline="")
    above = 0
    while (first := stream.readline()).lstrip().startswith("#") or (first and not first.strip()):
        above += 1
    # The comments are passed over before the CSV reader sees them: a quote in one opens no cell.
    reader = csv.reader(chain([first], stream), strict=True)
    try:
        for row in reader:
            if row:
                rows.append(row)
                lines.append(above + reader.line_num)
    except csv.Error as error:
        what = f"not readable as CSV ({error})"
        return rows, lines, [Problem(file, above + reader.line_num, what, "check the quotes")]
    return rows, lines, []


def _header_problems(names: list[str], at: Problem, shown: str) -> list[Problem]:
    def problem(what: str, allowed: str = _NEEDED) -> Problem:
        return Problem(at.file, at.line, what, allowed)

    for mark, word in ((";", "semicolons"), ("\t", "tabs")):
        if mark in shown and len(names) == 1:
            return [problem(f"columns are separated by {word}", "allowed: commas")]
    found = [
        problem(f"column {name} is there twice", "allowed: once") for name in KNOWN if names.count(name) > 1
    ]
    has_f = any(name in names for name in FAHRENHEIT)
    if has_f and any(name in names for name in CELSIUS):
        return [*found, problem("both degC and degF columns for Tmin and Tmax", "allowed: one of the two")]
    for name in ("date", *(FAHRENHEIT if has_f else CELSIUS)):
        if name not in names:
            found.append(problem(f"no column {name}", _missing_column(name, names)))
    return found


def _missing_column(name: str, names: list[str]) -> str:
    """A near miss among the columns that are there, or what is needed."""
    near = nearest(name, set(names) - set(KNOWN))
    return f"is it the one named {near}? {_NEEDED}" if near is not None else _NEEDED


def _days(
    cells: Sequence[str], lines: Sequence[int], file: str, problems: list[Problem]
) -> NDArray[np.int64]:
    days = np.zeros(len(cells), dtype=np.int64)
    for place, cell in enumerate(cells):
        day = _day(cell)
        days[place] = day
        if not day:
            problems.append(Problem(file, lines[place], f"date is {shown(cell)}", _DATE_ALLOWED))
    return days


def _day(cell: str) -> int:
    """The ordinal of an ISO date, or 0."""
    text = cell.strip()
    if len(text) != 10 or text[4] != "-" or text[7] != "-":
        return 0
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return 0
    return day.toordinal() if YEARS[0] <= day.year <= YEARS[1] else 0


def _numbers(
    name: str, cells: Sequence[str], lines: Sequence[int], file: str, problems: list[Problem]
) -> Floats:
    """Cells as numbers. The common, faultless column is read in one go."""
    try:
        values = np.array([float(cell) if cell else math.nan for cell in cells])
    except ValueError:
        pass
    else:
        joined = "".join(cells)
        whole = np.isfinite(values).sum() == len(cells) - cells.count("")
        if whole and joined.isascii() and "_" not in joined:
            return values
    values = np.full(len(cells), np.nan)
    for place, cell in enumerate(cells):
        number = plain_number(cell)
        if number is not None:
            values[place] = number
        elif cell.strip():
            what = f"{name} is {shown(cell)}, not a number"
            problems.append(Problem(file, lines[place], what, _NUMBER_ALLOWED))
    return values


def shown(cell: str) -> str:
    """A cell as it may stand in a message: quoted, on one line, not too long."""
    text = cell.strip()
    return repr(text if len(text) <= 30 else text[:30] + "...")
