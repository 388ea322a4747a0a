"""Stamped events as the bytes of one feed."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta

from care_planner.calendar.content_lines import date_value, duration_value, escape, fold
from care_planner.calendar.event import Stamped
from care_planner.calendar.text import LONGEST_NAME, describe, one_line

PRODID = "-//care_planner//care_planner//EN"
# Hours to a day: a hint that can only slow a client down, and a plan changes with the weather's days.
REFRESH = duration_value(timedelta(hours=12))

# A VCALENDAR must hold a component (RFC 5545, 3.6), and some clients clear a calendar that holds none.
# A time zone alone is legal and shows nothing.
_NOTHING_PLANNED = (
    b"BEGIN:VTIMEZONE\r\nTZID:Etc/UTC\r\nBEGIN:STANDARD\r\nDTSTART:19700101T000000\r\nTZNAME:UTC\r\n"
    b"TZOFFSETFROM:+0000\r\nTZOFFSETTO:+0000\r\nEND:STANDARD\r\nEND:VTIMEZONE\r\n"
)
_END = b"END:VCALENDAR\r\n"


@dataclass(frozen=True, slots=True)
class Heading:
    """What a phone shows of the calendar as a whole; free text, cleaned when it is written."""

    name: str
    description: str


def render_heading(heading: Heading) -> bytes:
    """The lines above the events. NAME is RFC 7986's, the X- ones are what most phones read."""
    name = escape(one_line(heading.name, LONGEST_NAME))
    description = escape(one_line(heading.description))
    lines = (
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{PRODID}",
        f"DESCRIPTION:{description}",
        f"X-WR-CALDESC:{description}",
        f"NAME:{name}",
        f"X-WR-CALNAME:{name}",
        f"REFRESH-INTERVAL;VALUE=DURATION:{REFRESH}",
        f"X-PUBLISHED-TTL:{REFRESH}",
    )
    return _joined(lines)


def render_event(stamped: Stamped) -> bytes:
    """One VEVENT: all day, DTEND exclusive (RFC 5545, 3.6.1), leaving the day free.

    Provisional work is TENTATIVE: that is the standard's own word for it, clients that know it show it
    hatched, and the others still show the event. Equal stamps give equal bytes.
    """
    event = stamped.event
    title = escape(event.title)
    lines = [
        "BEGIN:VEVENT",
        f"SUMMARY:{title}",
        f"DTSTART;VALUE=DATE:{date_value(event.day)}",
        f"DTEND;VALUE=DATE:{date_value(event.day + 1)}",
        f"DTSTAMP:{stamped.stamp}",
        f"UID:{event.uid}",
        f"SEQUENCE:{stamped.sequence}",
        f"CATEGORIES:{','.join(map(escape, event.categories))}",
        f"DESCRIPTION:{escape(describe(event))}",
        f"LAST-MODIFIED:{stamped.stamp}",
        f"STATUS:{'CONFIRMED' if event.firm else 'TENTATIVE'}",
        "TRANSP:TRANSPARENT",
    ]
    if event.url:
        lines.append(f"URL:{event.url}")
    if event.alarm_minutes is not None:
        # Negative only: at least one server takes the absolute value of a positive one. So an alarm within
        # the day is told from its end.
        within = event.alarm_minutes < 0
        span = timedelta(days=1 if within else 0, minutes=event.alarm_minutes)
        before = duration_value(-span)
        trigger = "TRIGGER;RELATED=END" if within else "TRIGGER"
        text = f"DESCRIPTION:{escape(event.alarm)}"
        lines += ["BEGIN:VALARM", "ACTION:DISPLAY", text, f"{trigger}:{before}", "END:VALARM"]
    lines.append("END:VEVENT")
    return _joined(lines)


def join_feed(heading: bytes, events: list[bytes]) -> bytes:
    """A whole feed from its rendered heading and events; without events, the legal empty one."""
    return b"".join((heading, *(events or (_NOTHING_PLANNED,)), _END))


def render(heading: Heading, events: Iterable[Stamped]) -> bytes:
    """A whole feed, its events in the order of `in_order`."""
    return join_feed(render_heading(heading), [render_event(stamped) for stamped in in_order(events)])


def in_order(events: Iterable[Stamped]) -> list[Stamped]:
    """Events by day, and within a day as they came: the dearer and sooner closing first."""
    return sorted(events, key=lambda stamped: stamped.event.day)


def _joined(lines: Iterable[str]) -> bytes:
    return b"\r\n".join(map(fold, lines)) + b"\r\n"
