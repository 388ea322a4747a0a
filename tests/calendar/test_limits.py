from dataclasses import replace
from datetime import date

import pytest
from calendar_samples import day, stamped
from icalendar import Calendar

from care_planner.calendar.check_bytes import check_bytes
from care_planner.calendar.event import Stamped
from care_planner.calendar.feed import Heading, render
from care_planner.calendar.limits import FEED_EVENTS, FEED_OCTETS, fit

HEADING = Heading("Trees", "All work")


def events(count: int, on_each_day: int = 1, caution: str = "x") -> list[Stamped]:
    first = day("2027-03-01")
    template = stamped(cautions=(caution,))
    return [
        replace(
            template, event=replace(template.event, uid=f"u-{number:05}", day=first + number // on_each_day)
        )
        for number in range(count)
    ]


def days_in(data: bytes) -> list[date]:
    return [one.start for one in Calendar.from_ical(data).walk("VEVENT")]


def test_what_fits_is_left_whole_and_nothing_is_said() -> None:
    some = events(FEED_EVENTS - 1)
    fitted = fit(HEADING, some)
    assert fitted.data == render(HEADING, some)
    assert fitted.message == ""


def test_too_many_events_end_on_a_whole_day_and_say_so() -> None:
    fitted = fit(HEADING, events(FEED_EVENTS + 40, on_each_day=7))
    kept = days_in(fitted.data)
    assert len(kept) < FEED_EVENTS
    assert len(kept) % 7 == 0
    assert len(kept) + 7 >= FEED_EVENTS
    assert kept[0] == date(2027, 3, 1)
    assert fitted.message == "46 of 1040 events do not fit in one feed; it ends on 20 Jul 2027"
    assert kept[-1] == date(2027, 7, 20)
    told = Calendar.from_ical(fitted.data)["DESCRIPTION"]
    assert (
        told
        == "Too much for one feed: shows work until 20 Jul 2027; what comes later appears in time. All work"
    )
    assert check_bytes(fitted.data) == []


def test_one_event_or_one_octet_too_many_is_too_much() -> None:
    assert fit(HEADING, events(FEED_EVENTS)).message != ""
    some = events(40)
    whole = len(render(HEADING, some))
    assert fit(HEADING, some, octets=whole).message != ""
    assert fit(HEADING, some, octets=whole + 1).message == ""


def test_too_many_octets_end_earlier() -> None:
    fitted = fit(HEADING, events(900, on_each_day=3, caution="long " * 75))
    assert FEED_OCTETS - 5000 < len(fitted.data) < FEED_OCTETS
    assert len(days_in(fitted.data)) % 3 == 0
    assert "events do not fit" in fitted.message
    assert check_bytes(fitted.data) == []


@pytest.mark.parametrize("octets", range(3000, 3080))
def test_the_limit_holds_to_the_octet(octets: int) -> None:
    assert len(fit(HEADING, events(40), octets=octets).data) < octets


def test_a_first_day_that_is_too_much_is_cut() -> None:
    fitted = fit(HEADING, events(10, on_each_day=10), most=5)
    assert len(days_in(fitted.data)) == 4
    assert fitted.message == "6 of 10 events do not fit in one feed; it ends on 1 Mar 2027"


def test_days_are_in_order_and_a_day_keeps_the_order_it_came_in() -> None:
    first, second, later = stamped(tree="b"), stamped(tree="a"), stamped(tree="c", on="2027-06-05")
    data = fit(HEADING, [later, first, second]).data
    places = [data.index(one.event.uid.encode()) for one in (first, second, later)]
    assert places == sorted(places)
