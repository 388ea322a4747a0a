"""What a person would notice when an event is published anew: date, window, chance, text."""

import re
from dataclasses import replace

from care_planner.calendar.event import Event
from care_planner.calendar.text import MONTHS
from care_planner.tasks.model import Window

# Common practice, no source.
NOTICED_DAYS = 2
NOTICED_POINTS = 10
NOTICED_SHARE = 0.1

_YEAR_DAYS = 365
_FIGURE = re.compile(
    rf"\d{{4}}-(?P<month>\d\d)-(?P<day>\d\d)\b"
    rf"|(?P<of>\d+) (?P<named>{'|'.join(MONTHS)})\b(?: \d{{4}})?"
    r"|(?P<number>\d+(?:\.\d+)?)(?P<percent> ?%)?"
)


def noticed(old: Event, new: Event) -> bool:
    """Whether a person would notice that `new` stands where `old` was published."""
    if old == new:
        return False
    return (
        replace(old, window=new.window, chance=new.chance, why=new.why) != new
        or _window_noticed(old.window, new.window)
        or abs(old.chance - new.chance) >= NOTICED_POINTS
        or not _reads_the_same(old.why, new.why)
    )


def _window_noticed(old: Window, new: Window) -> bool:
    pairs = ((old.opens, new.opens), (old.likely, new.likely), (old.closes, new.closes))
    return any(
        before != after and (before is None or after is None or abs(before - after) >= NOTICED_DAYS)
        for before, after in pairs
    )


def _reads_the_same(old: tuple[str, ...], new: tuple[str, ...]) -> bool:
    """Whether reasons differ in no word, and in no figure by more than a window or a chance may.

    Reasons quote expected dates and sums, and those move a little with each day's weather.
    """
    if old == new:
        return True
    return len(old) == len(new) and all(map(_line_reads_the_same, old, new))


def _line_reads_the_same(old: str, new: str) -> bool:
    if old == new:
        return True
    if _FIGURE.sub("#", old) != _FIGURE.sub("#", new):
        return False
    pairs = zip(_FIGURE.finditer(old), _FIGURE.finditer(new), strict=True)
    return all(_figure_reads_the_same(*_figure(before), *_figure(after)) for before, after in pairs)


def _figure_reads_the_same(kind: str, before: float, other_kind: str, after: float) -> bool:
    apart = abs(before - after)
    if kind != other_kind:
        return False
    if kind == "date":
        return min(apart, _YEAR_DAYS - apart) < NOTICED_DAYS
    if kind == "percent":
        return apart < NOTICED_POINTS
    return apart == 0 or apart < NOTICED_SHARE * before


def _figure(found: re.Match[str]) -> tuple[str, float]:
    """What a figure is and its value; a date's is its day of a common year, 29 February as 1 March."""
    if found["number"]:
        return "percent" if found["percent"] else "number", float(found["number"])
    month = int(found["month"]) if found["month"] else MONTHS.index(found["named"]) + 1
    starts = (0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334)
    return "date", starts[(month - 1) % 12] + int(found["day"] or found["of"])
