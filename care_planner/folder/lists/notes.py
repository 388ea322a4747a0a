"""Rows of a list -> the entries of a journal."""

from typing import Any

from care_planner.folder.lists.read_sheet import CellSheet
from care_planner.folder.lists.text import WRITTEN_AS_YAML
from care_planner.journal.model import JournalFile, WrittenEntry
from care_planner.problems import Problem, did_you_mean
from care_planner.typed_yaml.located import Located, Place, parse_yaml
from care_planner.typed_yaml.validate import validate

KEYS = tuple(field.alias or name for name, field in WrittenEntry.model_fields.items())


def note_list(sheet: CellSheet) -> tuple[list[dict[str, Any]], list[Problem]]:
    """Entries as plain data; the headings are the journal's own keys, and each mistake names its row."""
    problems = [
        Problem(sheet.file, 1, f"unknown column {heading!r}", did_you_mean(heading, KEYS))
        for heading in sheet.headings
        if heading not in KEYS
    ]
    if problems:
        return [], problems
    entries = []
    for line, cells in zip(sheet.lines, sheet.rows, strict=True):
        entry: dict[str, Any] = {}
        for heading, cell in zip(sheet.headings, cells, strict=True):
            if cell.startswith(WRITTEN_AS_YAML):
                located, faults = parse_yaml(cell, sheet.file)
                problems += [Problem(sheet.file, line, f"{heading}: {f.what}", f.allowed) for f in faults]
                entry[heading] = located.data if located is not None else cell
            elif cell:
                entry[heading] = cell
        _, mistakes = validate(Located(sheet.file, [entry], Place(line, {0: Place(line)})), JournalFile)
        problems += [Problem(sheet.file, line, m.what, m.allowed) for m in mistakes]
        entries.append(entry)
    return entries, sorted(set(problems))
