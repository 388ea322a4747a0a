"""The day that a short text names at its start or its end: yesterday, on Sunday, 3 days ago, 24 May."""

import re
from datetime import date, timedelta

from care_planner.typed_yaml.models import Mistake

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_NUMBERS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_MONTH = r"(?:jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|"
_MONTH += r"oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)"
_WEEKDAY = r"(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?"
_DAY = (
    r"(?P<yesterday>yesterday)|(?P<today>today)|(?P<before>the day before yesterday)"
    rf"|(?P<ago>\d{{1,3}}|{'|'.join(_NUMBERS)}|a) (?P<unit>days?|weeks?) ago"
    rf"|(?:(?:on|last) )+(?P<weekday>{_WEEKDAY})"
    r"|(?:on )?(?P<iso>\d{4}-\d{2}-\d{2})"
    rf"|(?:on )?(?:the )?(?P<day1>\d{{1,2}})(?:st|nd|rd|th)?(?: of)? (?P<month1>{_MONTH})"
    r"(?:,? (?P<year1>\d{4}))?"
    rf"|(?:on )?(?P<month2>{_MONTH}) (?P<day2>\d{{1,2}})(?:st|nd|rd|th)?(?:,? (?P<year2>\d{{4}}))?"
)
_AT_START = re.compile(rf"(?:{_DAY})\b[,:]? *", re.IGNORECASE)
_AT_END = re.compile(rf"[,;]? *\b(?:{_DAY})[.!]?$", re.IGNORECASE)
# Numbers with strokes or dots, which one country reads as day and month and the next as month and day.
_UNCLEAR = re.compile(r"(?<![\w./-])(\d{1,2})([./])(\d{1,2})(?:\2(\d{4}|\d{2})?)?(?![\w%/]| (?:of|open)\b)")


def day_said(text: str, today: date) -> tuple[date | None, str] | Mistake:
    """The day a text names, not after `today`, and the text without it; None where it names none."""
    unclear = _unclear(text, today)
    if unclear is not None:
        return unclear
    for pattern in (_AT_START, _AT_END):
        found = pattern.match(text) if pattern is _AT_START else pattern.search(text)
        if found is None:
            continue
        rest = (text[: found.start()] + text[found.end() :]).strip()
        day = _day(found, today) if rest else None
        if day is not None:
            return day, rest
    return None, text


def _unclear(text: str, today: date) -> Mistake | None:
    found = _UNCLEAR.search(text)
    if found is None or (found[2] == "." and found[4] is None and not found[0].endswith(".")):
        return None  # 0.4 is a number
    a, b = int(found[1]), int(found[3])
    year = int(found[4]) + (2000 if len(found[4]) == 2 else 0) if found[4] else None
    days = {day.isoformat() for m, d in ((a, b), (b, a)) if (day := _latest(m, d, year, today)) is not None}
    if not days:
        return None
    allowed = "allowed: the day as " + " or ".join(f"--date {day}" for day in sorted(days))
    return Mistake(f"'{found[0]}' is a day that can be read in more than one way", allowed)


def _day(found: re.Match[str], today: date) -> date | None:
    said = {key: value.lower() for key, value in found.groupdict().items() if value}
    if "yesterday" in said or "before" in said:
        return today - timedelta(days=2 if "before" in said else 1)
    if "today" in said:
        return today
    if "ago" in said:
        number = said["ago"]
        count = 1 if number == "a" else int(number) if number.isdecimal() else _NUMBERS.index(number) + 1
        return today - timedelta(days=count * (7 if said["unit"].startswith("week") else 1))
    if "weekday" in said:
        back = (today.weekday() - _WEEKDAYS.index(said["weekday"][:3])) % 7
        return today - timedelta(days=back or 7)
    if "iso" in said:
        try:
            return date.fromisoformat(said["iso"])
        except ValueError:
            return None
    which = "1" if "day1" in said else "2"
    month = _MONTHS.index(said[f"month{which}"][:3]) + 1
    year = said.get(f"year{which}")
    return _latest(month, int(said[f"day{which}"]), int(year) if year else None, today)


def _latest(month: int, day: int, year: int | None, today: date) -> date | None:
    """The day of a year, or the last such day up to today."""
    for at in (year,) if year is not None else (today.year, today.year - 1):
        try:
            found = date(at, month, day)
        except ValueError:
            continue
        if year is not None or found <= today:
            return found
    return None
