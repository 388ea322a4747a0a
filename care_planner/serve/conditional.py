"""Conditional requests (RFC 9110, 13.1 and 13.2.2): what is there against what was asked.

werkzeug reads the headers. Its own `make_conditional` is not used: it knows one tag for each answer, where a
feed has two (plain and packed), passes over If-Unmodified-Since, and answers 412 where If-Match holds but
If-None-Match does not.
"""

from collections.abc import MutableMapping
from contextlib import suppress
from datetime import UTC, datetime
from typing import Any, Literal

from werkzeug.datastructures import Accept, Headers
from werkzeug.http import parse_accept_header, parse_date, parse_etags

Answer = Literal["whole", "not-modified", "precondition-failed"]
LONGEST_HEADER = (
    2_000  # octets; no client has more tags or a longer date to tell, and every parser takes its time
)
_READ_BY_THE_LIBRARY = (
    *("HTTP_IF_MODIFIED_SINCE", "HTTP_IF_UNMODIFIED_SINCE", "HTTP_IF_RANGE", "HTTP_RANGE"),
    *("HTTP_IF_NONE_MATCH", "HTTP_IF_MATCH"),
)


def evaluate(tags: tuple[str, ...], changed: datetime, asked: Headers) -> Answer:
    """What a GET or HEAD with the headers `asked` gets, in the order of RFC 9110, 13.2.2.

    `tags` are the strong tags, without quotes, of every form the same content is sent in (plain, gzip): a
    client that has either is up to date. `changed` counts in whole seconds. A date that is none is as if it
    had not been sent, and so is a header of more than `LONGEST_HEADER` octets.
    """
    changed = changed.replace(microsecond=0)
    if_match, if_none_match = _told(asked, "If-Match"), _told(asked, "If-None-Match")
    if if_match is not None:
        known = parse_etags(if_match)
        if not any(tag in known for tag in tags):
            return "precondition-failed"
    elif (since := _date(asked, "If-Unmodified-Since")) is not None and changed > since:
        return "precondition-failed"
    if if_none_match is not None:
        known = parse_etags(if_none_match)
        return "not-modified" if any(known.contains_weak(tag) for tag in tags) else "whole"
    since = _date(asked, "If-Modified-Since")
    return "not-modified" if since is not None and changed <= since else "whole"


def forget_unreadable(environ: MutableMapping[str, Any]) -> None:
    """Take headers out of a WSGI environment that the library trips over where it answers by itself."""
    for name in _READ_BY_THE_LIBRARY:
        value = str(environ.get(name, ""))
        try:
            fits = len(value) <= LONGEST_HEADER and (parse_date(value) or True)
        except (OverflowError, IndexError, ValueError):
            fits = False
        if not fits:
            del environ[name]


def wants_gzip(asked: Headers) -> bool:
    """Whether gzip is asked for by name with a weight above 0 (RFC 9110, 12.5.3). `*` asks for nothing."""
    accepted = parse_accept_header(_told(asked, "Accept-Encoding"), Accept)
    return any(name.lower() in ("gzip", "x-gzip") and weight > 0 for name, weight in accepted)


def _told(asked: Headers, name: str) -> str | None:
    value = asked.get(name)
    return None if value is None or len(value) > LONGEST_HEADER else value.strip(" \t")


def _date(asked: Headers, name: str) -> datetime | None:
    with suppress(OverflowError, IndexError):  # years and fields that the library's own parser trips over
        found = parse_date(_told(asked, name))
        return None if found is None else found.astimezone(UTC)
    return None
