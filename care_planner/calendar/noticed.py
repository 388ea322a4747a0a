"""What a person would notice when an event is published anew: its day, its text, a day in it that moved."""

from dataclasses import replace

from care_planner.calendar.event import Event
from care_planner.words.line import Line

# Days of a window move a little with each day's weather; by less than this nobody minds (common practice, no
# source).
NOTICED_DAYS = 2


def noticed(old: Event, new: Event) -> bool:
    """Whether a person would notice that `new` stands where `old` was published."""
    if old == new:
        return False
    if len(old.lines) != len(new.lines) or replace(old, lines=new.lines) != new:
        return True
    return any(map(_line_noticed, old.lines, new.lines))


def _line_noticed(old: Line, new: Line) -> bool:
    """Another word, another number, or a day that moved by `NOTICED_DAYS` or more."""
    if old.parts != new.parts:
        return True
    return any(abs(before - after) >= NOTICED_DAYS for before, after in zip(old.days, new.days, strict=True))
