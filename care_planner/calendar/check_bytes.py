"""The last look at a feed's bytes before they are published, apart from how they were written.

RFC 5545 by section, RFC 7986, and what clients are known to do wrong. Nothing here uses the writer.
"""

import re
from collections.abc import Callable, Iterator
from datetime import date

from care_planner.calendar.limits import FEED_EVENTS, FEED_OCTETS

OCTETS_A_LINE = 75  # RFC 5545, 3.1, without the line break

_CUT_ESCAPE = re.compile(rb"(?<!\\)(?:\\\\)*\\\r\n")
_CONTROLS = bytes({*range(0x20), 0x7F} - {0x09, 0x0A, 0x0D})
_WIDE_CONTROL = re.compile("[\x80-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff]")

_SPAN = r"P(?:\d+W|(?:\d+D)?(?:T(?=\d)(?:\d+H)?(?:\d+M)?(?:\d+S)?)?)(?<=[WDHMS])"
_DATE = r"\d{4}(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01])"
_STAMP = _DATE + r"T(?:[01]\d|2[0-3])[0-5]\d[0-5]\dZ"
_TEXT = r"[^\\;,\r\n]*+(?:\\[\\;,nN][^\\;,\r\n]*+)*+"
_TEXTS = r"[^\\;\r\n]*+(?:\\[\\;,nN][^\\;\r\n]*+)*+"

# What each property must look like, by its name with its parameters. A name that is not here is a fault:
# a feed holds nothing its writer does not know.
_SHAPES = {
    "VCALENDAR": {
        "VERSION": r"2\.0",
        "PRODID": _TEXT,
        "DESCRIPTION": _TEXT,
        "X-WR-CALDESC": _TEXT,
        "NAME": _TEXT,
        "X-WR-CALNAME": _TEXT,
        "REFRESH-INTERVAL;VALUE=DURATION": _SPAN,
        "X-PUBLISHED-TTL": _SPAN,
    },
    "VEVENT": {
        "SUMMARY": _TEXT,
        "DTSTART;VALUE=DATE": _DATE,
        "DTEND;VALUE=DATE": _DATE,
        "DTSTAMP": _STAMP,
        "UID": "[A-Za-z0-9-]+",
        "SEQUENCE": r"\d+",
        "CATEGORIES": _TEXTS,
        "DESCRIPTION": _TEXT,
        "LAST-MODIFIED": _STAMP,
        "STATUS": "CONFIRMED|TENTATIVE|CANCELLED",
        "TRANSP": "TRANSPARENT",
        "URL": r"https?://[!-~]+",
    },
    "VALARM": {"ACTION": "DISPLAY", "DESCRIPTION": _TEXT, "TRIGGER": "-" + _SPAN},
    "VTIMEZONE": {"TZID": _TEXT},
    "STANDARD": {"DTSTART": ".+", "TZNAME": ".+", "TZOFFSETFROM": ".+", "TZOFFSETTO": ".+"},
}
_INSIDE = {
    "VCALENDAR": "",
    "VEVENT": "VCALENDAR",
    "VTIMEZONE": "VCALENDAR",
    "VALARM": "VEVENT",
    "STANDARD": "VTIMEZONE",
}
_OPTIONAL = {"URL"}
_ALARM_SEEN = "BEGIN:VALARM"


def _usual(component: str, kept: tuple[str, ...] = (), inside: str = "") -> str:
    """A component whose lines stand in the order above, as one pattern; `kept` properties are its groups."""
    lines = (
        f"(?:{re.escape(name)}:{'(' if name in kept else '(?:'}{shape})\r\n)"
        f"{'?' if name in _OPTIONAL else ''}"
        for name, shape in _SHAPES[component].items()
    )
    return f"BEGIN:{component}\r\n{''.join(lines)}{inside}END:{component}\r\n"


_Match = Callable[[str], re.Match[str] | None]
_MATCHES: dict[str, dict[str, _Match]] = {
    component: {name: re.compile(shape, re.ASCII).fullmatch for name, shape in shapes.items()}
    for component, shapes in _SHAPES.items()
}
_KEPT = ("DTSTART;VALUE=DATE", "DTEND;VALUE=DATE", "DTSTAMP", "UID", "LAST-MODIFIED")
_USUAL_EVENT = re.compile(_usual("VEVENT", _KEPT, f"(?:{_usual('VALARM')})?"), re.ASCII)


def check_bytes(data: bytes) -> list[str]:
    """What is wrong with a feed, one sentence a fault, in a fixed order; an empty list when it may go out."""
    faults = list(_faults_of_form(data))
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return [*faults, "the text is not UTF-8"]
    if len(data.translate(None, _CONTROLS)) < len(data) or _has_wide_control(text):
        faults.append("a control or direction-changing character")
    content = _Content()
    # An alarm within the day is told from its end, else as any other.
    content.read(text.replace("\r\n ", "").replace("\r\nTRIGGER;RELATED=END:-", "\r\nTRIGGER:-"))
    return faults + sorted(content.faults) + list(content.faults_of_whole())


def _faults_of_form(data: bytes) -> Iterator[str]:
    if not data.startswith(b"BEGIN:VCALENDAR\r\n") or not data.endswith(b"\r\nEND:VCALENDAR\r\n"):
        yield "the file is not one whole VCALENDAR"
    if not data.count(b"\r\n") == data.count(b"\n") == data.count(b"\r"):
        yield "a line that does not end in CRLF"
    if max(map(len, data.split(b"\r\n"))) > OCTETS_A_LINE:
        yield f"a line of more than {OCTETS_A_LINE} octets"
    if b"\\\r\n" in data and _CUT_ESCAPE.search(data):
        yield "a fold inside an escape"
    if len(data) >= FEED_OCTETS:
        yield f"{len(data)} octets; a feed stays under {FEED_OCTETS}"


def _has_wide_control(text: str) -> bool:
    return not text.isascii() and _WIDE_CONTROL.search(text) is not None


def _is_date(value: str) -> bool:
    try:
        date.fromisoformat(value)
    except ValueError:
        return False
    return True


class _Content:
    """One pass over the unfolded lines: which component they stand in, and what it holds."""

    def __init__(self) -> None:
        self.faults: set[str] = set()
        self.uids: list[str] = []
        self.dates: set[str] = set()
        self._counts = dict.fromkeys(_SHAPES, 0)
        self._open: list[tuple[str, dict[str, str]]] = []

    def read(self, text: str) -> None:
        """Read unfolded text: events in the usual order of lines in one step each, the rest line by line."""
        first = text.find("\r\nBEGIN:VEVENT\r\n")
        start = first + len("\r\n") if first >= 0 else len(text)
        self._read_lines(text[:start])
        if [name for name, _ in self._open] == ["VCALENDAR"]:
            while event := _USUAL_EVENT.match(text, start):
                self._counts["VEVENT"] += 1
                self._end_event(*event.groups())
                start = event.end()
        self._read_lines(text[start:])

    def _read_lines(self, text: str) -> None:
        component, held = self._open[-1] if self._open else ("", {})
        matches = _MATCHES.get(component, {})
        for line in text.split("\r\n"):
            name, colon, value = line.partition(":")
            match = matches.get(name)
            if match is not None:
                if name in held:
                    self.faults.add(f"{component} with two of {name}")
                if not match(value):
                    self.faults.add(f"{component} with a bad {name}")
                held[name] = value
            elif name == "BEGIN" or name == "END":
                self._begin(value) if name == "BEGIN" else self._end(value)
                component, held = self._open[-1] if self._open else ("", {})
                matches = _MATCHES.get(component, {})
            elif line:
                self._unknown(component, name if colon else "")

    def faults_of_whole(self) -> Iterator[str]:
        if self._open:
            yield "a component is not closed"
        if self._counts["VCALENDAR"] > 1:
            yield "more than one VCALENDAR"
        if not all(map(_is_date, self.dates)):
            yield "a date that does not exist"
        if len(set(self.uids)) < len(self.uids):
            yield "two events with one UID"
        if self._counts["VEVENT"] >= FEED_EVENTS:
            yield f"{self._counts['VEVENT']} events; a feed stays under {FEED_EVENTS}"
        if not self._counts["VEVENT"] and not self._counts["VTIMEZONE"]:
            yield "a VCALENDAR without a component"

    def _begin(self, component: str) -> None:
        outside, held = self._open[-1] if self._open else ("", {})
        if component not in _SHAPES:
            self.faults.add("a component that does not belong here")
        else:
            self._counts[component] += 1
            if outside != _INSIDE[component]:
                self.faults.add(f"{component} in the wrong place")
        if component == "VALARM":
            if _ALARM_SEEN in held:
                self.faults.add("more than one alarm on an event")
            held[_ALARM_SEEN] = ""
        self._open.append((component, {}))

    def _end(self, component: str) -> None:
        if not self._open or self._open[-1][0] != component:
            self.faults.add("components that cross")
            return
        _, held = self._open.pop()
        for name in _SHAPES.get(component, {}).keys() - held.keys() - _OPTIONAL:
            self.faults.add(f"{component} without {name}")
        if component == "VEVENT":
            self._end_event(*(held.get(name, "") for name in _KEPT))

    def _end_event(self, start: str, end: str, stamp: str, uid: str, modified: str) -> None:
        self.uids.append(uid)
        self.dates.add(start)
        self.dates.add(end)
        if end <= start:
            self.faults.add("DTEND is not after DTSTART")
        if stamp != modified:
            self.faults.add("DTSTAMP and LAST-MODIFIED differ")

    def _unknown(self, component: str, name: str) -> None:
        if not component:
            self.faults.add("a line outside the VCALENDAR")
        elif not name:
            self.faults.add("a line without a name and a colon")
        else:
            self.faults.add(
                "METHOD in a feed" if name == "METHOD" else f"{component} with an unknown property"
            )
