"""Observations, temperatures and places of stations from CSV: a file, gzipped or not, or a folder of them."""

import csv
import gzip
import io
import math
import zlib
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from pathlib import Path
from statistics import median_low

import numpy as np

from care_planner.learning.fitting.records import Records, StationDays
from care_planner.problems import Problem, ProblemsFound

OBSERVATIONS = ("station", "year", "event", "date")
TEMPERATURES = ("station", "date", "tmin_c", "tmax_c")
STATIONS = ("station", "latitude")
COLDEST_C, WARMEST_C = -90.0, 60.0
MOST_TOLD = 20  # mistakes of one file; more of them are counted


class Mistakes:
    """The mistakes of one file; only the first are kept, the others counted."""

    def __init__(self, file: str) -> None:
        self.file, self.found, self.more = file, list[Problem](), 0

    def add(self, line: int, what: str, allowed: str) -> None:
        """Note one."""
        if len(self.found) < MOST_TOLD:
            self.found.append(Problem(self.file, line, what, allowed))
        else:
            self.more += 1

    def told(self) -> list[Problem]:
        """What is to be told of them."""
        if not self.more:
            return self.found
        return [*self.found, Problem(self.file, self.found[-1].line, f"and {self.more} mistakes more below")]


def read_records(
    observations: Path,
    temperature: Path,
    stations: Path | None,
    events: Iterable[str] | None = None,
    taxon: str | None = None,
) -> Records:
    """The records; only the events named, where some are, and of one taxon where the files name taxa.

    Several notes of one event at one station in one year (several trees) count as their middle one, the
    earlier of two. ProblemsFound for every mistake in the files.
    """
    problems: list[Problem] = []
    wanted = None if events is None else frozenset(events)
    found: defaultdict[tuple[str, int, str], set[int]] = defaultdict(set)
    for path in _files(observations, problems):
        _observations(path, wanted, taxon, found, problems)
    noted = {key: median_low(sorted(days)) for key, days in found.items()}
    asked = {station for station, _, _ in noted}
    rows: defaultdict[str, dict[int, tuple[float, float]]] = defaultdict(dict)
    for path in _files(temperature, problems):
        _temperatures(path, asked, rows, problems)
    latitudes = {} if stations is None else _latitudes(stations, asked, problems)
    if problems:
        raise ProblemsFound(problems)
    weather = {station: _weather(days) for station, days in sorted(rows.items())}
    return Records(noted, weather, latitudes)


def _files(path: Path, problems: list[Problem]) -> list[Path]:
    """The file, or the CSV files of the folder, in the order of their names."""
    if not path.is_dir():
        return [path]
    files = sorted(p for p in path.iterdir() if p.name.endswith((".csv", ".csv.gz")))
    if not files:
        problems.append(Problem(str(path), 0, "no CSV file in the folder", "files named *.csv or *.csv.gz"))
    return files


def read_table(
    path: Path, columns: Sequence[str], problems: list[Problem], maybe: Sequence[str] = ()
) -> tuple[Iterator[tuple[int, list[str]]], Mistakes] | None:
    """The rows of a file with their lines, cut down to the columns; None where it cannot be read.

    Columns that `maybe` names may be missing: their cells are then empty.
    """
    name = str(path)
    try:
        raw = path.read_bytes()
        text = (gzip.decompress(raw) if raw[:2] == b"\x1f\x8b" else raw).decode("utf-8-sig")
    except UnicodeDecodeError:
        problems.append(Problem(name, 0, "the text is not UTF-8", "CSV, gzipped or not"))
        return None
    except (EOFError, zlib.error, gzip.BadGzipFile):
        problems.append(Problem(name, 0, "the gzip file is damaged", "CSV, gzipped or not"))
        return None
    except OSError as error:
        problems.append(Problem(name, 0, f"cannot be read ({error.strerror})"))
        return None
    head = [cell.strip() for cell in next(csv.reader(io.StringIO(text, newline="")), [])]
    missing = [column for column in columns if column not in head]
    if missing:
        problems.append(Problem(name, 1, f"no column {', '.join(missing)}", f"columns {', '.join(columns)}"))
        return None
    places = [head.index(column) if column in head else -1 for column in (*columns, *maybe)]
    mistakes = Mistakes(name)
    return _cut(text, places, mistakes), mistakes


def _cut(text: str, places: Sequence[int], mistakes: Mistakes) -> Iterator[tuple[int, list[str]]]:
    last = max(places)
    reader = csv.reader(io.StringIO(text, newline=""))
    try:
        next(reader, None)
        for row in reader:
            if len(row) > last:
                yield reader.line_num, [row[place].strip() if place >= 0 else "" for place in places]
            elif row:
                mistakes.add(reader.line_num, f"{len(row)} cells", "as many as the first line has names")
    except csv.Error as error:
        mistakes.add(reader.line_num, f"no CSV ({error})", "CSV, gzipped or not")


def _observations(
    path: Path,
    wanted: frozenset[str] | None,
    taxon: str | None,
    found: defaultdict[tuple[str, int, str], set[int]],
    problems: list[Problem],
) -> None:
    table = read_table(path, OBSERVATIONS, problems, ("taxon",))
    if table is None:
        return
    rows, mistakes = table
    for line, (station, year, event, day, of) in rows:
        if not day or (wanted is not None and event not in wanted) or (of and taxon and of != taxon):
            continue
        ordinal = ordinal_of(day)
        if ordinal is None:
            mistakes.add(line, f"date is '{day}', not a date", "2027-03-01")
        elif not year.isdigit():
            mistakes.add(line, f"year is '{year}', not a year", "2027")
        elif abs(date.fromordinal(ordinal).year - int(year)) > 1:
            mistakes.add(line, f"the date {day} is not of the season {year}", "the year its spring starts in")
        else:
            found[station, int(year), event].add(ordinal)
    problems += mistakes.told()


def _temperatures(
    path: Path,
    asked: set[str],
    rows: defaultdict[str, dict[int, tuple[float, float]]],
    problems: list[Problem],
) -> None:
    table = read_table(path, TEMPERATURES, problems)
    if table is None:
        return
    found, mistakes = table
    ordinals: dict[str, int | None] = {}
    for line, (station, day, low, high) in found:
        if station not in asked:
            continue
        if day not in ordinals:
            ordinals[day] = ordinal_of(day)
        ordinal = ordinals[day]
        try:
            tmin, tmax = float(low or "nan"), float(high or "nan")
        except ValueError:
            mistakes.add(line, f"'{low}' and '{high}' are not two temperatures", "degC, or nothing")
            continue
        if ordinal is None:
            mistakes.add(line, f"date is '{day}', not a date", "2027-03-01")
        elif not all(math.isnan(t) or COLDEST_C <= t <= WARMEST_C for t in (tmin, tmax)):
            mistakes.add(line, f"{low} and {high} degC", f"{COLDEST_C:g} to {WARMEST_C:g} degC")
        elif tmin > tmax:
            mistakes.add(line, f"tmin_c {low} is above tmax_c {high}", "tmin_c at most tmax_c")
        else:
            rows[station][ordinal] = (tmin, tmax)
    problems += mistakes.told()


def _latitudes(path: Path, asked: set[str], problems: list[Problem]) -> dict[str, float]:
    table = read_table(path, STATIONS, problems)
    if table is None:
        return {}
    rows, mistakes = table
    found: dict[str, float] = {}
    for line, (station, text) in rows:
        try:
            latitude = float(text)
        except ValueError:
            latitude = math.nan
        if not -66 <= latitude <= 66:
            mistakes.add(line, f"latitude is '{text}'", "degrees from -66 to 66, north positive")
        elif latitude < 0 and station in asked:
            mistakes.add(line, f"{station} lies south of the equator", "northern stations")
        else:
            found[station] = latitude
    missing = sorted(asked - set(found))
    if missing and not mistakes.found:
        mistakes.add(0, f"no latitude of {', '.join(missing[:5])}", "a line for every station observed")
    problems += mistakes.told()
    return found


def ordinal_of(text: str) -> int | None:
    """The ordinal of an ISO date, or None."""
    try:
        return date.fromisoformat(text).toordinal()
    except ValueError:
        return None


def _weather(days: dict[int, tuple[float, float]]) -> StationDays:
    first, last = min(days), max(days)
    laid = np.full((2, last - first + 1), np.nan)
    at = np.fromiter(days, dtype=np.int64, count=len(days)) - first
    laid[:, at] = np.array(list(days.values())).T
    return StationDays(first, laid[0], laid[1])
