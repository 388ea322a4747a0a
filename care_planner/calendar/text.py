"""Text for people: cleaned of everything that could break a calendar line or deceive a reader."""

import re
from datetime import date
from math import floor

from care_planner.calendar.event import Event
from care_planner.tasks.model import Window
from care_planner.words.line import Line

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
LONGEST_LINE = 400
LONGEST_NAME = 120
LONGEST_PART = 1_500

# C0, DEL and C1 controls; line and paragraph separators; the byte-order mark; lone surrogates, which no
# UTF-8 can carry; non-characters.
_UNSAFE = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\ufeff\ud800-\udfff\ufffe\uffff]+")
# Embeddings, overrides and isolates (Unicode annex 9) make a line read differently from what it says.
_BIDI = re.compile("[\u202a-\u202e\u2066-\u2069]+")
_SPACES = re.compile(r"\s+")


def one_line(text: str, longest: int = LONGEST_LINE) -> str:
    """A text as one clean line of at most `longest` characters; what is cut ends in an ellipsis."""
    if text.isprintable() and len(text) <= longest and "  " not in text:
        return text.strip()
    line = _SPACES.sub(" ", _BIDI.sub("", _UNSAFE.sub(" ", text))).strip()
    return line if len(line) <= longest else line[: longest - 1].rstrip() + "…"


def clean_lines(lines: tuple[str, ...]) -> tuple[str, ...]:
    """Lines of free text, cleaned, without empty or repeated ones, in order."""
    return tuple(dict.fromkeys(text for text in map(one_line, lines) if text))


def percent(chance: float) -> int:
    """A chance from 0 to 1 in whole per cent, halves upward."""
    return floor(chance * 100 + 0.5)


def window_line(window: Window, day: int) -> str:
    """The window as one line; what most weather years never reach is said, not left out."""
    opens, closes = (None if edge is None else day_month(edge, day) for edge in (window.opens, window.closes))
    if opens and closes:
        return f"Window: {opens} to {closes}"
    if opens:
        return f"Window: from {opens}, in most years without an end"
    return f"Window: until {closes}" if closes else "Window: in most years not reached"


def day_month(day: int, beside: int) -> str:
    """A day as people write it, "19 May", with its year when that differs from the day it stands beside."""
    shown = date.fromordinal(day)
    text = f"{shown.day} {MONTHS[shown.month - 1]}"
    return text if shown.year == date.fromordinal(beside).year else f"{text} {shown.year}"


def clean_line(said: Line) -> Line:
    """A line whose texts hold nothing that could break a calendar line; spaces beside its days stay."""
    if all(part.isprintable() and "  " not in part and len(part) <= LONGEST_PART for part in said.parts):
        return said
    return Line(tuple(_part(part) for part in said.parts), said.days)


def _part(part: str) -> str:
    left = " " if part[:1] == " " else ""
    right = " " if part[-1:] == " " and part.strip() else ""
    return f"{left}{one_line(part, LONGEST_PART)}{right}"


def describe(event: Event) -> str:
    """The DESCRIPTION of an event: plain text, one fact a line, the same for the same event."""
    return "\n".join(said.text(lambda day: day_month(day, event.day)) for said in event.lines)
