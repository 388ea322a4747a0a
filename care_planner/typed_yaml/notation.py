"""What can be wrong with the notation itself, in words for a person who does not know YAML's terms."""

import re
from itertools import islice

import yaml

from care_planner.problems import Problem

DEEPEST = 32  # levels of nesting; a collection needs six
TOO_DEEP = f"nested more than {DEEPEST} levels deep"
MOST_PROBLEMS = 100  # after so many faults in the notation itself, the rest is noise

# What YAML cannot carry, and the line separators that YAML counts as lines but editors do not.
_UNPRINTABLE = re.compile(
    "[^\t\n\r\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]"
)


def unprintable(text: str, shown_as: str) -> list[Problem]:
    """Characters that no person meant to write."""
    return [
        Problem(
            shown_as,
            text.count("\n", 0, found.start()) + 1,
            f"a control character or invisible separator (U+{ord(found.group()):04X})",
            "take it out",
        )
        for found in islice(_UNPRINTABLE.finditer(text), MOST_PROBLEMS)
    ]


def notation_fault(error: yaml.MarkedYAMLError, text: str) -> tuple[int, str, str]:
    """Line, what is wrong and what helps."""
    mark, opened = error.problem_mark, error.context_mark
    line = mark.line + 1 if mark else 1
    start = f" opened on line {opened.line + 1}" if opened else ""
    problem, context = error.problem or "", error.context or ""
    if "maximum nesting depth" in problem:
        return line, TOO_DEEP, ""
    if "cannot start any token" in problem and mark:
        found = _character(text, mark.line, mark.column)
        if found == "\t":
            return line, "a tab where spaces belong", "indent with spaces"
        return line, f"text that starts with {found!r}", "put it in quotes"
    if "quoted scalar" in context:
        return line, f"a quote{start} is not closed", "close it with the same quote"
    if "flow sequence" in context or "flow mapping" in context:
        bracket = "[" if "sequence" in context else "{"
        return line, f"a {bracket}{start} is not closed, or a comma is missing", "check brackets and commas"
    if "mapping values are not allowed" in problem:
        return line, "a ':' where no key can stand", "check the indentation, or put the text in quotes"
    if (
        "block collection" in context
        or "block mapping" in context
        or "could not find expected ':'" in problem
    ):
        return (
            line,
            "the indentation does not fit the lines above, or a ':' is missing",
            "indent alike with spaces",
        )
    return line, f"broken YAML: {problem or 'it cannot be read'}", ""


def _character(text: str, line: int, column: int) -> str:
    lines = text.splitlines()
    return lines[line][column : column + 1] if line < len(lines) else ""
