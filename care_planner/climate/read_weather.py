"""A weather file on disk -> the record, or every mistake in it."""

import gzip
import io
import zlib
from pathlib import Path

from care_planner.climate.record import WeatherRecord, daily_record
from care_planner.climate.weather_checks import order_problems, unit_problem, value_problems
from care_planner.climate.weather_table import FAHRENHEIT, WeatherTable, parse_table
from care_planner.disk.read_bytes import read_bytes
from care_planner.problems import Problem

MOST_PROBLEMS = 20
MOST_BYTES = 12_000_000  # every day since 1750 with all columns is some 8 MB
_GZIP_MAGIC = b"\x1f\x8b"


def read_weather_file(path: Path, shown_as: str) -> tuple[WeatherRecord | None, list[Problem]]:
    """The record in a CSV or gzipped CSV that a person gave; None and all its mistakes if there are any.

    Columns date,tmin_c,tmax_c (or tmin_f,tmax_f) and any of tmean_c, precip_mm, rh_mean_pct, wind_m_s,
    sunshine_h, solar_mj_m2; others are ignored, and so are lines starting with # before the header.
    """
    text, unreadable = read_text(path, shown_as)
    if text is None:
        return None, unreadable
    table, problems = parse_table(text, shown_as)
    if table is not None:
        problems += _checks(table, shown_as)
    if problems or table is None:
        return None, _at_most(MOST_PROBLEMS, sorted(problems, key=lambda problem: problem.line))
    return _record(table, shown_as), []


def _checks(table: WeatherTable, file: str) -> list[Problem]:
    wrong_unit = unit_problem(table, file)
    values = [wrong_unit] if wrong_unit else value_problems(table, file)
    return order_problems(table, file) + values


def _record(table: WeatherTable, source: str) -> WeatherRecord:
    columns = dict(table.columns)
    if FAHRENHEIT[0] in columns:
        columns["tmin_c"] = (columns.pop("tmin_f") - 32) / 1.8
        columns["tmax_c"] = (columns.pop("tmax_f") - 32) / 1.8
    return daily_record(table.days, columns, source)


def read_text(path: Path, file: str) -> tuple[str | None, list[Problem]]:
    """The text of a CSV or gzipped CSV (told by its first bytes), or what is wrong with the file."""
    try:
        raw = read_bytes(path, MOST_BYTES)
        if raw.startswith(_GZIP_MAGIC):
            with gzip.GzipFile(fileobj=io.BytesIO(raw)) as unzipped:
                raw = unzipped.read(MOST_BYTES + 1)
    except (EOFError, gzip.BadGzipFile, zlib.error):
        return None, [Problem(file, 0, "is a torn gzip file", "fetch or save it again")]
    except OSError as error:
        return None, [Problem(file, 0, f"cannot be read ({error.strerror or error})", "a CSV or CSV.gz file")]
    if len(raw) > MOST_BYTES:
        allowed = f"allowed: at most {MOST_BYTES // 1_000_000} MB"
        return None, [Problem(file, 0, "is too large for a weather record", allowed)]
    try:
        return raw.decode("utf-8-sig"), []
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        return None, [Problem(file, line, "is not UTF-8 text", "save the file as UTF-8")]


def _at_most(number: int, problems: list[Problem]) -> list[Problem]:
    """The first problems, and one that counts the rest."""
    if len(problems) <= number:
        return problems
    rest = problems[number:]
    return [*problems[:number], Problem(rest[0].file, rest[0].line, f"and {len(rest)} more from here on")]
