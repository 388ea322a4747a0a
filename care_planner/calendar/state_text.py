"""The published state as text and back: versioned JSON in which every text stands once.

Version 2, one line an event:
`{"version": 2, "floor": F, "files": [...], "texts": [...], "feeds": {FEED: {UID: ROW}}}` with
ROW = [sequence, stamp, day] for what is not shown, else [sequence, stamp, day, title, lines, categories,
firm, alarm minutes, alarm, url]. Days are ordinals, titles and other texts are places in `texts`; a line is
the place of its text, or [[places of its parts], [days between them]].
Version 1 kept every text with every event; its revisions are read, its texts are not.
"""

import json
import re
from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from care_planner.calendar.event import Event
from care_planner.calendar.revisions import Published, Record
from care_planner.words.line import Line

VERSION = 2

_STAMP = re.compile(r"\d{8}T\d{6}Z")
_encode = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode
_T = TypeVar("_T")


class Unreadable(Exception):
    """The text is not a published state."""


class TooNew(Exception):
    """The state was written by a later version of this program."""


class Texts:
    """Texts with their places, in the order in which they were first asked for."""

    def __init__(self) -> None:
        self._places: dict[str, int] = {}

    def place(self, text: str) -> int:
        """The place of a text, a new one where it has none."""
        return self._places.setdefault(text, len(self._places))

    def all(self) -> list[str]:
        """Every text, each at its place."""
        return list(self._places)


def write_state_text(published: Published) -> bytes:
    """The state as UTF-8 JSON, sorted: equal states give equal bytes."""
    texts = Texts()
    feeds = ",\n".join(
        f"{_encode(name)}:{{\n{_rows(records, texts)}}}" for name, records in sorted(published.feeds.items())
    )
    held = ",\n".join(map(_encode, texts.all()))
    return (
        f'{{"version":{VERSION},"floor":{published.floor},"files":{_encode(sorted(published.files))},\n'
        f'"texts":[\n{held}],\n"feeds":{{\n{feeds}}}}}\n'
    ).encode()


def parse_state_text(data: bytes) -> Published:
    """The state a text holds.

    Raises Unreadable for what this program did not write, TooNew for what a later version of it did.
    """
    try:
        state = json.loads(data)
        version = _of(int, state["version"])
        if version > VERSION:
            raise TooNew
        if version == 1:
            return _version_1(state)
        texts = _texts(state["texts"])
        lines = [Line((text,)) for text in texts]
        return Published(
            feeds={name: _records(rows, texts, lines) for name, rows in state["feeds"].items()},
            files=_texts(state["files"]),
            floor=_of(int, state["floor"]),
        )
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, RecursionError) as fault:
        raise Unreadable(str(fault)) from fault


def _version_1(state: dict[str, Any]) -> Published:
    """Revisions by UID; those of events that do not come back are below the floor of all new ones."""
    older: dict[str, Record] = {}
    for uid, row in (*state["trees"].items(), *state["rounds"].items()):
        record = _record(uid, row[:3], (), ())
        before = older.get(uid)
        if before is None or (record.sequence, record.stamp) > (before.sequence, before.stamp):
            older[uid] = record
    floor = max([_of(int, state["floor"]), *(record.sequence + 1 for record in older.values())])
    return Published(files=_texts(state["files"]), floor=floor, older=older)


def _rows(records: Mapping[str, Record], texts: Texts) -> str:
    return ",\n".join(
        f"{_encode(uid)}:{_encode(_row(record, texts))}" for uid, record in sorted(records.items())
    )


def _row(record: Record, texts: Texts) -> list[Any]:
    row: list[Any] = [record.sequence, record.stamp, record.day]
    shown = record.shown
    if shown is None:
        return row
    categories = [texts.place(name) for name in shown.categories]
    row += [texts.place(shown.title), [_line(one, texts) for one in shown.lines], categories, int(shown.firm)]
    return [*row, shown.alarm_minutes, texts.place(shown.alarm), texts.place(shown.url)]


def _line(one: Line, texts: Texts) -> Any:
    if not one.days:
        return texts.place(one.parts[0])
    return [[texts.place(part) for part in one.parts], list(one.days)]


def _records(rows: dict[str, list[Any]], texts: tuple[str, ...], lines: Sequence[Line]) -> dict[str, Record]:
    return {uid: _record(uid, row, texts, lines) for uid, row in rows.items()}


def _record(uid: str, row: list[Any], texts: tuple[str, ...], plain: Sequence[Line]) -> Record:
    sequence, stamp, day, *shown = row
    if not _STAMP.fullmatch(stamp):
        raise ValueError("a stamp that is none")
    event = _event(uid, _of(int, day), texts, plain, *shown) if shown else None
    return Record(_of(int, sequence), stamp, _of(int, day), event)


def _event(
    uid: str,
    day: int,
    texts: tuple[str, ...],
    plain: Sequence[Line],  # those without days, by the places of their texts
    title: int,
    lines: list[Any],
    categories: list[int],
    firm: int,
    alarm_minutes: int | None,
    alarm: int,
    url: int,
) -> Event:
    return Event(
        uid=uid,
        day=day,
        title=_at(title, texts),
        lines=tuple(_line_back(one, texts, plain) for one in lines),
        categories=tuple(_at(place, texts) for place in categories),
        firm=bool(_of(int, firm)),
        alarm_minutes=None if alarm_minutes is None else _of(int, alarm_minutes),
        alarm=_at(alarm, texts),
        url=_at(url, texts),
    )


def _line_back(one: Any, texts: tuple[str, ...], plain: Sequence[Line]) -> Line:
    if isinstance(one, int):
        return _at(one, plain)
    parts, days = one
    made = Line(tuple(_at(place, texts) for place in parts), tuple(_of(int, day) for day in days))
    if len(made.parts) != len(made.days) + 1:
        raise ValueError("a line whose days and parts do not fit")
    return made


def _at(place: int, held: Sequence[_T]) -> _T:
    if _of(int, place) < 0:
        raise ValueError("a place that is none")
    return held[place]


def _of(kind: type[_T], value: object) -> _T:
    if type(value) is not kind:
        raise TypeError(f"{kind.__name__} expected")
    return value


def _texts(values: list[str]) -> tuple[str, ...]:
    return tuple(_of(str, value) for value in values)
