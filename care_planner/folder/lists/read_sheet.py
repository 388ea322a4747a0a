"""A spreadsheet from disk as rows of text: CSV in any usual dress, or Excel's own file."""

import csv
import zipfile
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from care_planner.problems import Problem

LARGEST_BYTES = 16_000_000
MOST_ROWS = 20_000
MOST_COLUMNS = 200
# What separates cells, by how often the heading holds it.
SEPARATORS = (",", ";", "\t", "|")


@dataclass(frozen=True, slots=True)
class CellSheet:
    """Headings and rows of cells as text; `first_row` is the row number of the first row of cells."""

    file: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    lines: tuple[int, ...]


def read_sheet(path: Path) -> tuple[CellSheet | None, list[Problem]]:
    """The first sheet of a CSV or .xlsx file; a file that cannot be read is a problem, never an exception."""
    shown = path.name
    try:
        if not path.is_file():
            return None, [Problem(shown, 0, "no such file", "a .csv or .xlsx file")]
        if path.stat().st_size > LARGEST_BYTES:
            return None, [Problem(shown, 0, "too large", f"allowed: {LARGEST_BYTES // 1_000_000} MB at most")]
        rows = _excel(path) if path.suffix.lower() == ".xlsx" else _csv(path.read_bytes())
    except OSError as error:
        return None, [Problem(shown, 0, f"cannot be read ({error.strerror or error})")]
    except (ValueError, KeyError, csv.Error, zipfile.BadZipFile) as error:
        return None, [Problem(shown, 0, f"cannot be read as a table ({error})", "save it as CSV (UTF-8)")]
    return _sheet(shown, rows)


def _sheet(shown: str, rows: list[tuple[int, list[str]]]) -> tuple[CellSheet | None, list[Problem]]:
    filled = [(line, cells) for line, cells in rows if any(cells)]
    if not filled:
        return None, [Problem(shown, 1, "the table is empty", "a row of headings, then a row a tree")]
    if len(filled) - 1 > MOST_ROWS:
        return None, [Problem(shown, filled[MOST_ROWS][0], f"more than {MOST_ROWS} rows")]
    headings = filled[0][1]
    width = len(headings)
    too_wide = [
        Problem(shown, line, f"{len(cells)} cells under {width} headings", "a heading for each column")
        for line, cells in filled[1:]
        if any(cells[width:])
    ]
    if too_wide:
        return None, too_wide
    padded = [tuple((cells + [""] * width)[:width]) for _, cells in filled[1:]]
    return CellSheet(shown, tuple(headings), tuple(padded), tuple(line for line, _ in filled[1:])), []


def _csv(raw: bytes) -> list[tuple[int, list[str]]]:
    text = _decoded(raw)
    first = next((line for line in text.splitlines() if line.strip()), "")
    separator = max(SEPARATORS, key=lambda mark: (first.count(mark), -SEPARATORS.index(mark)))
    rows = []
    line = 1
    reader = csv.reader(text.splitlines(keepends=True), delimiter=separator, strict=True)
    for cells in reader:
        rows.append((line, [_plain(cell) for cell in cells[:MOST_COLUMNS]]))
        line = reader.line_num + 1
    return rows


def _decoded(raw: bytes) -> str:
    """UTF-8, UTF-16 with its mark, or what Windows writes in western Europe."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("cp1252")


def _excel(path: Path) -> list[tuple[int, list[str]]]:
    from openpyxl import load_workbook

    book = load_workbook(path, read_only=True, data_only=True)
    try:
        sheet = book.worksheets[0]
        rows = []
        cells = sheet.iter_rows(values_only=True, max_col=MOST_COLUMNS, max_row=MOST_ROWS + 50)
        for line, values in enumerate(cells, start=1):
            rows.append((line, [_cell(value) for value in values]))
        return rows
    finally:
        book.close()


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return _plain(str(value))


def _plain(text: str) -> str:
    return " ".join(text.splitlines()).strip()
