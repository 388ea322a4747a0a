"""Days in words that a person reads on a phone."""

from datetime import date

import numpy as np

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def day_words(day: float) -> str:
    """`19 May 2027`, or `never`."""
    if not np.isfinite(day):
        return "never"
    d = date.fromordinal(int(day))
    return f"{d.day} {MONTHS[d.month - 1]} {d.year}"


def short_day(day: float) -> str:
    """`19 May`."""
    d = date.fromordinal(int(day))
    return f"{d.day} {MONTHS[d.month - 1]}"


def weekday_words(day: int) -> str:
    """`Sat 22 May`."""
    return f"{WEEKDAYS[date.fromordinal(day).weekday()]} {short_day(day)}"


def days_apart(later: int) -> str:
    """`3 days later` or `1 day earlier`."""
    count = abs(later)
    unit = "day" if count == 1 else "days"
    return f"{count} {unit} {'later' if later > 0 else 'earlier'}"
