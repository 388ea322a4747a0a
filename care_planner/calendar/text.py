"""Text for people: cleaned of everything that could break a calendar line or deceive a reader."""

import re
from datetime import date
from math import floor

from care_planner.calendar.event import Event
from care_planner.tasks.model import Window

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
LONGEST_LINE = 400
LONGEST_NAME = 120
MOST_LINES = 20
MOST_TREES_NAMED = 40

# C0, DEL and C1 controls; line and paragraph separators; the byte-order mark; lone surrogates, which no
# UTF-8 can carry; non-characters.
_UNSAFE = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\ufeff\ud800-\udfff\ufffe\uffff]+")
# Embeddings, overrides and isolates (Unicode annex 9) make a line read differently from what it says.
_BIDI = re.compile("[\u202a-\u202e\u2066-\u2069]+")
_SPACES = re.compile(r"\s+")
_PLACE = re.compile(r"[(\[]?[^\s:]*\.(?:ya?ml|csv|csv\.gz)(?::\d+)*[)\],;:.]*")


def one_line(text: str, longest: int = LONGEST_LINE) -> str:
    """A text as one clean line of at most `longest` characters; what is cut ends in an ellipsis."""
    if text.isprintable() and len(text) <= longest and "  " not in text:
        return text.strip()
    line = _SPACES.sub(" ", _BIDI.sub("", _UNSAFE.sub(" ", text))).strip()
    return line if len(line) <= longest else line[: longest - 1].rstrip() + "…"


def without_places(line: str) -> str:
    """A reason without the file and line it was read from.

    They tell a phone's owner nothing, and a line number moves when anything above it is edited.
    """
    if ".y" not in line and ".csv" not in line:
        return line
    return " ".join(word for word in line.split(" ") if not _PLACE.fullmatch(word))


def clean_lines(lines: tuple[str, ...]) -> tuple[str, ...]:
    """At most `MOST_LINES` lines of free text, cleaned, without places, empty or repeated ones, in order."""
    cleaned = (without_places(one_line(line)) for line in lines)
    return tuple(dict.fromkeys(line for line in cleaned if line))[:MOST_LINES]


def day_month(day: int, beside: int) -> str:
    """A day as people write it, "19 May", with its year when that differs from the day it stands beside."""
    shown = date.fromordinal(day)
    text = f"{shown.day} {MONTHS[shown.month - 1]}"
    return text if shown.year == date.fromordinal(beside).year else f"{text} {shown.year}"


def percent(chance: float) -> int:
    """A chance from 0 to 1 in whole per cent, halves upward."""
    return floor(chance * 100 + 0.5)


def window_line(window: Window, day: int) -> str:
    """The window as one line; what most weather years never reach is said, not left out."""
    opens, likely, closes = (
        None if edge is None else day_month(edge, day)
        for edge in (window.opens, window.likely, window.closes)
    )
    if opens and closes:
        span = f"{opens} to {closes}"
    elif opens:
        span = f"from {opens}, in most years without an end"
    elif closes:
        span = f"until {closes}"
    else:
        span = "in most years not reached"
    return f"Window: {span}, likely {likely}" if likely else f"Window: {span}"


def describe(event: Event) -> str:
    """The DESCRIPTION of an event: plain text, one fact a line, the same for the same event."""
    lines = [text for text in (event.what, event.moved) if text]
    lines += [
        window_line(event.window, event.day),
        f"Chance: {event.chance} %",
        "Date: firm" if event.firm else "Date: provisional; note what you see on the tree and plan again",
        f"Work: {event.minutes} min",
        _trees_line(event.trees),
    ]
    lines += [f"Caution: {caution}" for caution in event.cautions]
    lines += event.why
    return "\n".join(lines)


def _trees_line(trees: tuple[str, ...]) -> str:
    named = ", ".join(trees[:MOST_TREES_NAMED])
    more = len(trees) - MOST_TREES_NAMED
    label = "Tree" if len(trees) == 1 else f"Trees ({len(trees)})"
    return f"{label}: {named} and {more} more" if more > 0 else f"{label}: {named}"
