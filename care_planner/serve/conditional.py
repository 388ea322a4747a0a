"""Conditional requests (RFC 9110, 8.8, 13.1 and 13.2.2): what is there against what was asked."""

import re
from calendar import timegm
from datetime import UTC, datetime
from typing import Literal

Answer = Literal["whole", "not-modified", "precondition-failed"]

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_LONG_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_TIME = r"(?P<h>\d\d):(?P<m>\d\d):(?P<s>\d\d)"
_MONTH = rf"(?P<month>{'|'.join(_MONTHS)})"
# RFC 9110, 5.6.7: the one form to write, and the two obsolete ones that must still be read. strptime is not
# used: it follows the machine's language.
_DATES = tuple(
    re.compile(form, re.ASCII)
    for form in (
        rf"(?:{'|'.join(_DAYS)}), (?P<day>\d\d) {_MONTH} (?P<year>\d{{4}}) {_TIME} GMT",
        rf"(?:{'|'.join(_LONG_DAYS)}), (?P<day>\d\d)-{_MONTH}-(?P<year>\d\d) {_TIME} GMT",
        rf"(?:{'|'.join(_DAYS)}) {_MONTH} (?P<day>[ \d]\d) {_TIME} (?P<year>\d{{4}})",
    )
)
_TAG = r'(?:W/)?"[\x21\x23-\x7e\x80-\xff]*"'
_TAGS = re.compile(rf"[ \t,]*(?:{_TAG})(?:[ \t]*,[ \t]*(?:{_TAG})?)*[ \t]*")
_TWO_DIGIT_YEARS_FROM = 1970


def http_date(at: datetime) -> str:
    """A moment as HTTP writes it, in whole seconds: `Sun, 06 Nov 1994 08:49:37 GMT`."""
    at = at.astimezone(UTC)
    return (
        f"{_DAYS[at.weekday()]}, {at.day:02} {_MONTHS[at.month - 1]} {at.year:04} "
        f"{at.hour:02}:{at.minute:02}:{at.second:02} GMT"
    )


def parse_http_date(text: str) -> int | None:
    """Seconds since 1970, or None for what is no HTTP date."""
    for form in _DATES:
        found = form.fullmatch(text.strip(" \t"))
        if found is not None:
            year = int(found["year"])
            if len(found["year"]) == 2:
                year += 1900 if year + 1900 >= _TWO_DIGIT_YEARS_FROM else 2000
            month = _MONTHS.index(found["month"]) + 1
            try:
                clock = (int(found["h"]), int(found["m"]), min(int(found["s"]), 59))
                return timegm(datetime(year, month, int(found["day"]), *clock, tzinfo=UTC).utctimetuple())
            except ValueError:
                return None
    return None


def evaluate(
    etags: tuple[str, ...],
    changed: datetime,
    *,
    if_match: str | None = None,
    if_unmodified_since: str | None = None,
    if_none_match: str | None = None,
    if_modified_since: str | None = None,
) -> Answer:
    """What a GET or HEAD gets, in the order of RFC 9110, 13.2.2.

    `etags` are the strong tags, in quotes, of every form the same content is sent in (plain, gzip): a client
    that has either is up to date. A date that is none is as if it had not been sent.
    """
    at = int(changed.timestamp())
    if if_match is not None:
        if not _matches(if_match, etags, weak=False):
            return "precondition-failed"
    elif if_unmodified_since is not None:
        since = parse_http_date(if_unmodified_since)
        if since is not None and at > since:
            return "precondition-failed"
    if if_none_match is not None:
        return "not-modified" if _matches(if_none_match, etags, weak=True) else "whole"
    if if_modified_since is not None:
        since = parse_http_date(if_modified_since)
        if since is not None and at <= since:
            return "not-modified"
    return "whole"


def _matches(header: str, etags: tuple[str, ...], *, weak: bool) -> bool:
    if header.strip(" \t") == "*":
        return True
    if not _TAGS.fullmatch(header):
        return False
    for tag in re.findall(_TAG, header):
        if weak and tag.removeprefix("W/") in etags:
            return True
        if not weak and tag in etags:
            return True
    return False


def wants_gzip(accept_encoding: str | None) -> bool:
    """Whether gzip is asked for by name with a weight above 0 (RFC 9110, 12.5.3). `*` asks for nothing."""
    for part in (accept_encoding or "").split(","):
        name, *parameters = (piece.strip().lower() for piece in part.split(";"))
        if name in ("gzip", "x-gzip"):
            return not any(re.fullmatch(r"q=0(\.0{0,3})?", parameter) for parameter in parameters)
    return False
