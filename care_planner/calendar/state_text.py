"""The published state as text and back: versioned JSON, one line an event."""

import json
import re
from collections.abc import Mapping
from typing import Any, TypeVar

from care_planner.calendar.event import Event
from care_planner.calendar.revisions import Published, Record
from care_planner.tasks.model import Window

VERSION = 1

_STAMP = re.compile(r"\d{8}T\d{6}Z")
_encode = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode
_T = TypeVar("_T")


class Unreadable(Exception):
    """The text is not a published state."""


class TooNew(Exception):
    """The state was written by a later version of this program."""


def write_state_text(published: Published) -> bytes:
    """The state as UTF-8 JSON, sorted: equal states give equal bytes."""
    return (
        f'{{"version":{VERSION},"floor":{published.floor},"files":{_encode(sorted(published.files))},\n'
        f'"trees":{{\n{_rows(published.trees)}}},\n'
        f'"rounds":{{\n{_rows(published.rounds)}}}}}\n'
    ).encode()


def parse_state_text(data: bytes) -> Published:
    """The state a text holds.

    Raises Unreadable for what this program did not write, TooNew for what a later version of it did.
    """
    try:
        state = json.loads(data)
        if _of(int, state["version"]) > VERSION:
            raise TooNew
        return Published(
            trees=_records(state["trees"]),
            rounds=_records(state["rounds"]),
            files=_texts(state["files"]),
            floor=_of(int, state["floor"]),
        )
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as fault:
        raise Unreadable(str(fault)) from fault


def _rows(records: Mapping[str, Record]) -> str:
    return ",\n".join(f"{_encode(uid)}:{_encode(_row(record))}" for uid, record in sorted(records.items()))


def _row(record: Record) -> list[Any]:
    return [record.sequence, record.stamp, record.day, record.shown and _shown(record.shown)]


def _shown(event: Event) -> dict[str, Any]:
    """What an event shows; its UID and day stand in the record itself."""
    window = event.window
    return {
        "title": event.title,
        "window": [window.opens, window.likely, window.closes],
        "chance": event.chance,
        "firm": event.firm,
        "minutes": event.minutes,
        "categories": event.categories,
        "trees": event.trees,
        "cautions": event.cautions,
        "why": event.why,
        "what": event.what,
        "moved": event.moved,
        "alarm_hours": event.alarm_hours,
    }


def _records(rows: dict[str, list[Any]]) -> dict[str, Record]:
    return {uid: _record(uid, *row) for uid, row in rows.items()}


def _record(uid: str, sequence: int, stamp: str, day: int, shown: dict[str, Any] | None) -> Record:
    if not _STAMP.fullmatch(stamp):
        raise ValueError("a stamp that is none")
    event = None if shown is None else _event(uid, _of(int, day), shown)
    return Record(_of(int, sequence), stamp, _of(int, day), event)


def _event(uid: str, day: int, shown: dict[str, Any]) -> Event:
    opens, likely, closes = map(_number_or_none, shown["window"])
    return Event(
        uid=uid,
        day=day,
        title=_of(str, shown["title"]),
        window=Window(opens, likely, closes),
        chance=_of(int, shown["chance"]),
        firm=_of(bool, shown["firm"]),
        minutes=_of(int, shown["minutes"]),
        categories=_texts(shown["categories"]),
        trees=_texts(shown["trees"]),
        cautions=_texts(shown["cautions"]),
        why=_texts(shown["why"]),
        what=_of(str, shown["what"]),
        moved=_of(str, shown["moved"]),
        alarm_hours=_number_or_none(shown["alarm_hours"]),
    )


def _of(kind: type[_T], value: object) -> _T:
    if type(value) is not kind:
        raise TypeError(f"{kind.__name__} expected")
    return value


def _texts(values: list[str]) -> tuple[str, ...]:
    return tuple(_of(str, value) for value in values)


def _number_or_none(value: object) -> int | None:
    return None if value is None else _of(int, value)
