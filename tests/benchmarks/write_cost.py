"""What checking a feed costs beside writing it, and writing beside icalendar: ratios from one run.

Run from the project's root: python tests/benchmarks/write_cost.py. Every figure is the least of several
rounds, in microseconds an event, on one feed of nearly as many events as a feed may hold.
"""

import platform
import time
from collections.abc import Callable
from datetime import UTC, date, datetime

from icalendar import Calendar, Event, vText

from care_planner.calendar.check_bytes import check_bytes
from care_planner.calendar.event import Event as CareEvent
from care_planner.calendar.event import Stamped
from care_planner.calendar.feed import PRODID, Heading, render
from care_planner.calendar.text import describe
from care_planner.tasks.model import Window

EVENTS = 600
ROUNDS = 7
HEADING = Heading("Tree care, a garden", "Rounds of work on all trees, a garden")


def made(number: int) -> Stamped:
    """One event of usual length; no two alike."""
    day = date(2027, 3, 1).toordinal() + number // 2
    event = CareEvent(
        uid=f"00000000-0000-5000-8000-{number:012}",
        day=day,
        title=f"Remaining buds off: sats-{number % 12:02}",
        window=Window(day - 5, day, day + 6),
        chance=60 + number % 40,
        firm=number % 3 > 0,
        minutes=15 + number % 7,
        categories=("flowers",),
        trees=(f"sats-{number % 12:02}",),
        cautions=("Never pull on a plant that is not tied in", "Flowers are poisonous; collect them"),
        why=(
            "From a third to half of the flowers open; common practice",
            "Half open expected 26 May, 80 % between 18 May and 4 Jun",
            "33 weather years, 1990 to 2023, times 9 paces of the tree",
        ),
    )
    return Stamped(event, number % 4, "20270301T080000Z")


def by_icalendar(events: list[Stamped]) -> bytes:
    """The same events built and serialised by icalendar alone."""
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", PRODID)
    stamp = datetime(2027, 3, 1, 8, tzinfo=UTC)
    for one in events:
        built = Event()
        built.add("summary", one.event.title)
        built.add("dtstart", date.fromordinal(one.event.day))
        built.add("dtend", date.fromordinal(one.event.day + 1))
        built.add("dtstamp", stamp)
        built.add("uid", one.event.uid)
        built.add("sequence", one.sequence)
        built.add("categories", list(one.event.categories))
        built.add("description", vText(describe(one.event)))
        built.add("last-modified", stamp)
        built.add("status", "CONFIRMED" if one.event.firm else "TENTATIVE")
        built.add("transp", "TRANSPARENT")
        calendar.add_component(built)
    return calendar.to_ical()


def least(work: Callable[[], object]) -> float:
    """Microseconds an event, the least of several rounds."""
    seconds = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - start)
    return min(seconds) / EVENTS * 1e6


def main() -> None:
    events = [made(number) for number in range(EVENTS)]
    data = render(HEADING, events)
    if check_bytes(data):
        raise SystemExit("the feed to measure with fails its own check")
    write = least(lambda: render(HEADING, events))
    check = least(lambda: check_bytes(data))
    theirs = least(lambda: by_icalendar(events))
    print(f"{EVENTS} events, {len(data)} octets, Python {platform.python_version()}, {platform.machine()}")
    print(f"write {write:.1f}  check {check:.1f}  icalendar {theirs:.1f}  (microseconds an event)")
    print(f"check / write      {check / write:.2f}  (at most 1)")
    print(f"write / icalendar  {write / theirs:.2f}")


if __name__ == "__main__":
    main()
