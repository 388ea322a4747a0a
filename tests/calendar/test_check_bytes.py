"""The check is seen to fail: one planted fault each for everything it knows."""

import pytest
from calendar_samples import stamped

from care_planner.calendar import check_bytes as module
from care_planner.calendar.check_bytes import check_bytes
from care_planner.calendar.feed import Heading, render

HEADING = Heading("Trees", "Work, all of it; here")
ONE = render(HEADING, [stamped(alarm_minutes=900, cautions=("a, b; c " * 20,))])
TWO = render(HEADING, [stamped(), stamped(tree="sats-02")])
EMPTY = render(HEADING, [])
EVENT = ONE[ONE.index(b"BEGIN:VEVENT") : ONE.index(b"END:VCALENDAR")]
ALARM = ONE[ONE.index(b"BEGIN:VALARM") : ONE.index(b"END:VEVENT")]
ZONE = EMPTY[EMPTY.index(b"BEGIN:VTIMEZONE") : EMPTY.index(b"END:VCALENDAR")]


def line_of(name: bytes, data: bytes = EVENT) -> bytes:
    start = data.index(b"\r\n" + name) + 2
    return data[start : data.index(b"\r\n", start) + 2]


def without(name: bytes) -> bytes:
    return ONE.replace(line_of(name), b"", 1)


def with_value(name: bytes, value: bytes) -> bytes:
    return ONE.replace(line_of(name), name + b":" + value + b"\r\n", 1)


@pytest.mark.parametrize("data", [ONE, TWO, EMPTY])
def test_good_feeds_pass(data: bytes) -> None:
    assert check_bytes(data) == []


def test_an_order_of_lines_that_is_not_ours_passes_too() -> None:
    uid = line_of(b"UID")
    other = ONE.replace(uid, b"", 1).replace(b"BEGIN:VEVENT\r\n", b"BEGIN:VEVENT\r\n" + uid)
    assert other != ONE
    assert check_bytes(other) == []


FAULTS = {
    "cut short": (ONE[:-10], "the file is not one whole VCALENDAR"),
    "empty body": (b"", "the file is not one whole VCALENDAR"),
    "a page": (b"<html></html>", "the file is not one whole VCALENDAR"),
    "two calendars": (ONE + ONE, "more than one VCALENDAR"),
    "bare line feed": (ONE.replace(b"\r\n", b"\n", 1), "a line that does not end in CRLF"),
    "bare carriage return": (ONE.replace(b"Prune", b"Pru\rne", 1), "a line that does not end in CRLF"),
    "long line": (ONE.replace(b"VERSION:2.0", b"X:" + b"x" * 74), "a line of more than 75 octets"),
    "cut escape": (ONE.replace(b"Work\\, ", b"Work\\\r\n , ", 1), "a fold inside an escape"),
    "not UTF-8": (ONE.replace(b"Prune", b"\xffrune", 1), "the text is not UTF-8"),
    "NUL": (ONE.replace(b"Prune", b"Pr\x00ne", 1), "a control or direction-changing character"),
    "C1": (ONE.replace(b"Prune", "Pr\x85ne".encode(), 1), "a control or direction-changing character"),
    "bidi": (ONE.replace(b"Prune", "Pr\u202ene".encode(), 1), "a control or direction-changing character"),
    "no component": (EMPTY.replace(ZONE, b""), "a VCALENDAR without a component"),
    "METHOD": (ONE.replace(b"VERSION", b"METHOD:PUBLISH\r\nVERSION", 1), "METHOD in a feed"),
    "unknown property": (ONE.replace(b"TRANSP:", b"GEO:1\r\nTRANSP:", 1), "VEVENT with an unknown property"),
    "one UID twice": (ONE.replace(EVENT, EVENT + EVENT), "two events with one UID"),
    "one day of nothing": (with_value(b"DTEND;VALUE=DATE", b"20270522"), "DTEND is not after DTSTART"),
    "end before start": (with_value(b"DTEND;VALUE=DATE", b"20270521"), "DTEND is not after DTSTART"),
    "no such date": (with_value(b"DTSTART;VALUE=DATE", b"20270231"), "a date that does not exist"),
    "stamps apart": (with_value(b"DTSTAMP", b"20260301T080000Z"), "DTSTAMP and LAST-MODIFIED differ"),
    "two alarms": (ONE.replace(ALARM, ALARM + ALARM), "more than one alarm on an event"),
    "alarm after": (with_value(b"TRIGGER", b"PT15H"), "VALARM with a bad TRIGGER"),
    "alarm that mails": (with_value(b"ACTION", b"EMAIL"), "VALARM with a bad ACTION"),
    "alarm outside": (ONE.replace(EVENT, EVENT + ALARM), "VALARM in the wrong place"),
    "event in event": (ONE.replace(ALARM, EVENT), "VEVENT in the wrong place"),
    "task": (
        ONE.replace(EVENT, EVENT + b"BEGIN:VTODO\r\nEND:VTODO\r\n"),
        "a component that does not belong here",
    ),
    "crossed": (
        ONE.replace(b"END:VALARM\r\nEND:VEVENT", b"END:VEVENT\r\nEND:VALARM"),
        "components that cross",
    ),
    "not closed": (ONE.replace(b"END:VEVENT\r\n", b""), "a component is not closed"),
    "line outside": (
        ONE.replace(b"BEGIN:VCALENDAR\r\n", b"UID:x\r\nBEGIN:VCALENDAR\r\n"),
        "a line outside the VCALENDAR",
    ),
    "injected line": (
        ONE.replace(b"Prune after", b"Prune\r\nx\r\nUID:1", 1),
        "a line without a name and a colon",
    ),
    "bare semicolon": (with_value(b"SUMMARY", b"a;b"), "VEVENT with a bad SUMMARY"),
    "bare comma": (with_value(b"SUMMARY", b"a,b"), "VEVENT with a bad SUMMARY"),
    "bare backslash": (with_value(b"SUMMARY", b"a\\b"), "VEVENT with a bad SUMMARY"),
    "no version": (ONE.replace(b"VERSION:2.0\r\n", b""), "VCALENDAR without VERSION"),
    "version": (ONE.replace(b"VERSION:2.0", b"VERSION:1.0"), "VCALENDAR with a bad VERSION"),
    "no product": (ONE.replace(line_of(b"PRODID", ONE), b""), "VCALENDAR without PRODID"),
    "a timed start": (
        with_value(b"DTSTART;VALUE=DATE", b"20270522T100000Z"),
        "VEVENT with a bad DTSTART;VALUE=DATE",
    ),
    "a local stamp": (with_value(b"DTSTAMP", b"20270301T080000"), "VEVENT with a bad DTSTAMP"),
    "a UID with a host": (with_value(b"UID", b"1@host"), "VEVENT with a bad UID"),
    "a revision below nothing": (with_value(b"SEQUENCE", b"-1"), "VEVENT with a bad SEQUENCE"),
    "a busy day": (with_value(b"TRANSP", b"OPAQUE"), "VEVENT with a bad TRANSP"),
    "a status unknown": (with_value(b"STATUS", b"MAYBE"), "VEVENT with a bad STATUS"),
    "two summaries": (
        ONE.replace(line_of(b"SUMMARY"), line_of(b"SUMMARY") * 2, 1),
        "VEVENT with two of SUMMARY",
    ),
    "refresh of nothing": (
        ONE.replace(b"DURATION:PT12H", b"DURATION:P"),
        "VCALENDAR with a bad REFRESH-INTERVAL;VALUE=DURATION",
    ),
    "refresh without its type": (
        ONE.replace(b"REFRESH-INTERVAL;VALUE=DURATION", b"REFRESH-INTERVAL"),
        "VCALENDAR with an unknown property",
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_every_fault_is_seen(name: str) -> None:
    data, fault = FAULTS[name]
    assert fault in check_bytes(data)


@pytest.mark.parametrize(
    "name",
    [
        b"SUMMARY",
        b"DTSTART",
        b"DTEND",
        b"DTSTAMP",
        b"UID",
        b"SEQUENCE",
        b"CATEGORIES",
        b"LAST-MODIFIED",
        b"STATUS",
        b"TRANSP",
    ],
)
def test_a_missing_property_is_seen(name: bytes) -> None:
    missing = check_bytes(without(name))
    assert any(fault.startswith(f"VEVENT without {name.decode()}") for fault in missing)


def test_faults_after_the_first_event_are_seen_too() -> None:
    late = TWO[: TWO.rindex(b"TRANSP:")] + TWO[TWO.rindex(b"TRANSP:") :].replace(b"TRANSPARENT", b"OPAQUE")
    assert check_bytes(late) == ["VEVENT with a bad TRANSP"]


def test_size_and_number_are_limited(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "FEED_EVENTS", 2)
    assert check_bytes(TWO) == ["2 events; a feed stays under 2"]
    monkeypatch.setattr(module, "FEED_OCTETS", len(ONE))
    assert check_bytes(ONE) == [f"{len(ONE)} octets; a feed stays under {len(ONE)}"]
