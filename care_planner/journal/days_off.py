"""`Not this weekend`: days on which a person will not work on some trees, said in a few words. Pure."""

import re
from datetime import date, timedelta

_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_WEEKDAY = r"(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?"
_NO = r"(?:not|no time|no work|no hands|cannot|can't|busy)"
_SAID = re.compile(
    rf"{_NO} (?:(?:for it|do it|on it) )?"
    r"(?:(?P<day>today|tomorrow)|(?P<which>this|next) (?P<span>week|weekend)"
    rf"|(?:on|this) (?P<weekday>{_WEEKDAY})"
    r"|until (?P<until>\d{4}-\d{2}-\d{2}))[.!]?",
    re.IGNORECASE,
)
SATURDAY = 5


def days_off_said(text: str, today: date) -> tuple[date, date] | None:
    """The first and the last day that a text puts works off; None where it says something else.

    `until` names the first day on which there is time again. This weekend is that of the running week, on a
    Sunday what is left of it; a weekday is the next one, today with it.
    """
    found = _SAID.fullmatch(" ".join(text.split()))
    if found is None:
        return None
    said = {key: value.lower() for key, value in found.groupdict().items() if value}
    if "day" in said:
        first = today + timedelta(days=said["day"] == "tomorrow")
        return first, first
    if "weekday" in said:
        first = today + timedelta(days=(_WEEKDAYS.index(said["weekday"][:3]) - today.weekday()) % 7)
        return first, first
    if "until" in said:
        return _until(said["until"], today)
    monday = today - timedelta(days=today.weekday()) + timedelta(days=7 * (said["which"] == "next"))
    first = monday + timedelta(days=SATURDAY) if said["span"] == "weekend" else monday
    return max(first, today), monday + timedelta(days=6)


def _until(text: str, today: date) -> tuple[date, date] | None:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return None
    return (today, day - timedelta(days=1)) if day > today else None
