"""The bytes of a feed, held against icalendar's own and read back by three other parsers."""

import os
import subprocess
import sys
import warnings
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
import vobject
from calendar_samples import (
    HOSTILE,
    IDENTITY,
    NOW,
    STAMP,
    day,
    event,
    feeds_of,
    maker,
    no_walk,
    season_of_tasks,
    stamped,
    task,
)
from hypothesis import given
from hypothesis import strategies as st
from ical.calendar_stream import IcsCalendarStream
from icalendar import Alarm, Calendar, Event, vDuration, vText

from care_planner.calendar import feeds
from care_planner.calendar.check_bytes import check_bytes
from care_planner.calendar.event import Stamped
from care_planner.calendar.events import work_events
from care_planner.calendar.faults import CannotWrite
from care_planner.calendar.feed import PRODID, Heading, render
from care_planner.calendar.identity import uid
from care_planner.calendar.revisions import Published
from care_planner.calendar.state_text import write_state_text
from care_planner.calendar.text import describe
from care_planner.tasks.agenda import agenda

HEADING = Heading("Tree care, a garden", "Rounds; of work, on all trees")


def by_icalendar(heading: Heading, events: list[Stamped]) -> bytes:
    """The same feed built and serialised by the icalendar library alone."""
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", PRODID)
    for name, text in (("name", heading.name), ("description", heading.description)):
        calendar.add(name, vText(text))
        calendar.add({"name": "x-wr-calname", "description": "x-wr-caldesc"}[name], vText(text))
    half_a_day = vDuration(timedelta(hours=12))
    calendar.add("refresh-interval", half_a_day, parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", vDuration(timedelta(hours=12)))
    for one in events:
        calendar.add_component(event_by_icalendar(one))
    return calendar.to_ical()


def event_by_icalendar(one: Stamped) -> Event:
    stamp = datetime.strptime(one.stamp, "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)
    built = Event()
    built.add("summary", one.event.title)
    built.add("dtstart", date.fromordinal(one.event.day))
    built.add("dtend", date.fromordinal(one.event.day + 1))
    built.add("dtstamp", stamp)
    built.add("uid", one.event.uid)
    built.add("sequence", one.sequence)
    built.add("categories", list(one.event.categories))
    built.add("description", describe(one.event))
    built.add("last-modified", stamp)
    built.add("status", "CONFIRMED" if one.event.firm else "TENTATIVE")
    built.add("transp", "TRANSPARENT")
    if one.event.url:
        built.add("url", one.event.url)
    if one.event.alarm_minutes is not None:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", one.event.alarm)
        alarm.add("trigger", -timedelta(minutes=one.event.alarm_minutes))
        built.add_component(alarm)
    return built


def only_event(data: bytes) -> Event:
    (found,) = Calendar.from_ical(data).walk("VEVENT")
    return found


def read_by_vobject(data: bytes) -> list:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # vobject's own use of older library calls
        return [one for found in vobject.readComponents(data.decode()) for one in found.getChildren()]


@pytest.mark.parametrize("alarm_minutes", [None, 900, 2880, 30])
@pytest.mark.parametrize("firm", [True, False])
def test_reference_same_bytes_as_icalendar(alarm_minutes: int | None, firm: bool) -> None:
    events = [
        stamped(
            firm=firm,
            alarm_minutes=alarm_minutes,
            title="Tag, twist; and tie — before 🌸",
            cautions=("x" * 300,),
        ),
        Stamped(
            event(tree="sats-02", on="2027-12-31", url="https://trees.example/a"), 12, "20270401T000000Z"
        ),
    ]
    assert render(HEADING, events) == by_icalendar(HEADING, events)


@given(
    title=st.text(max_size=200).filter(lambda text: "\\" not in text),
    cautions=st.lists(st.text(max_size=200).filter(lambda text: "\\" not in text), max_size=4),
    category=st.text(min_size=1, max_size=40).filter(lambda text: "\\" not in text),
)
def test_reference_same_bytes_as_icalendar_for_any_text(
    title: str, cautions: list[str], category: str
) -> None:
    events = [stamped(title=title, cautions=tuple(cautions), category=category)]
    data = render(HEADING, events)
    assert data == by_icalendar(HEADING, events)
    assert check_bytes(data) == []


@given(st.integers(day("1990-01-01"), day("2100-12-31")))
def test_reference_dates_are_start_in_end_out(ordinal: int) -> None:
    found = only_event(render(HEADING, [stamped(on=date.fromordinal(ordinal).isoformat())]))
    assert found.start == date.fromordinal(ordinal)
    assert found.end == date.fromordinal(ordinal + 1)


def test_stamps_revision_status_and_category() -> None:
    found = only_event(render(HEADING, [Stamped(event(firm=False), 3, STAMP)]))
    assert found["SEQUENCE"] == 3
    assert found["DTSTAMP"].dt == found["LAST-MODIFIED"].dt == NOW
    assert found["STATUS"] == "TENTATIVE"
    assert found["TRANSP"] == "TRANSPARENT"
    assert found.categories == ["pruning"]


def test_no_alarm_unless_asked_and_then_one_before_the_day() -> None:
    assert b"VALARM" not in render(HEADING, [stamped()])
    (alarm,) = only_event(render(HEADING, [stamped(alarm_minutes=900)])).walk("VALARM")
    assert alarm["TRIGGER"].dt == -timedelta(hours=15)
    assert alarm["ACTION"] == "DISPLAY"
    assert alarm["DESCRIPTION"] == "Prune after bloom"


@pytest.mark.parametrize("text", HOSTILE)
@pytest.mark.parametrize("place", ["title", "tree", "bench", "category", "cautions", "what"])
def test_reference_hostile_text_stays_text_in_three_parsers(text: str, place: str) -> None:
    one = task(**{place: (text,) if place == "cautions" else text})
    shown = replace(one, tree="no-utf-8") if "\ud800" in one.key else one
    (made,) = work_events(agenda([shown], no_walk), maker())
    data, uid = render(HEADING, [Stamped(made, 0, STAMP)]), made.uid
    assert check_bytes(data) == []
    assert {found["UID"] for found in Calendar.from_ical(data).walk("VEVENT")} == {uid}
    assert Calendar.from_ical(data).errors == []
    assert [found.uid.value for found in read_by_vobject(data) if found.name == "VEVENT"] == [uid]
    assert [found.uid for found in IcsCalendarStream.calendar_from_ics(data.decode()).events] == [uid]


def test_hostile_site_name_stays_text() -> None:
    for text in HOSTILE:
        data = feeds_of([task()], site=text).files["all.ics"]
        found = Calendar.from_ical(data)
        assert found.errors == []
        assert len(found.walk("VEVENT")) == 1
        assert found["NAME"] == found["X-WR-CALNAME"]


def test_reference_whole_feeds_in_three_parsers() -> None:
    for name, data in feeds_of(season_of_tasks(4)).files.items():
        expected = {"all.ics": 3, "works.ics": 3, "walks.ics": 0}.get(name, 3)
        if not expected:
            continue
        calendar = Calendar.from_ical(data)
        assert calendar.errors == []
        assert [found.errors for found in calendar.walk("VEVENT")] == [[]] * expected
        assert len([found for found in read_by_vobject(data) if found.name == "VEVENT"]) == expected
        theirs = IcsCalendarStream.calendar_from_ics(data.decode()).events
        assert len(theirs) == expected
        assert all(one.dtend - one.dtstart == timedelta(days=1) for one in theirs)
        assert "METHOD" not in calendar


def test_reference_the_empty_feed_is_legal_in_three_parsers() -> None:
    empty = feeds_of([], trees=["sats-01"])
    assert sorted(empty.files) == ["all.ics", "trees/sats-01.ics", "walks.ics", "works.ics"]
    for data in empty.files.values():
        assert check_bytes(data) == []
        calendar = Calendar.from_ical(data)
        assert calendar.errors == []
        assert [found.name for found in calendar.subcomponents] == ["VTIMEZONE"]
        assert [found.name for found in read_by_vobject(data) if found.name == "VEVENT"] == []
        assert IcsCalendarStream.calendar_from_ics(data.decode()).events == []


def test_a_tree_outside_the_list_still_gets_its_feed() -> None:
    assert "trees/sats-01.ics" in feeds_of([task()], trees=[]).files


def test_uids_are_unique_in_a_feed_and_the_plan_s() -> None:
    tasks = season_of_tasks(5)
    uids = {uid(IDENTITY, one.key) for one in tasks}
    assert len(uids) == len(tasks)
    for data in feeds_of(tasks).files.values():
        found = [one["UID"] for one in Calendar.from_ical(data).walk("VEVENT")]
        assert len(set(found)) == len(found)
        assert set(found) <= uids


def test_order_of_tasks_and_trees_changes_no_byte() -> None:
    tasks = season_of_tasks(5)
    again = feeds_of(tasks[::-1], trees=[f"sats-{number:02}" for number in (3, 1, 5, 2, 4)])
    assert again.files == feeds_of(tasks).files
    assert write_state_text(again.published) == write_state_text(feeds_of(tasks).published)


SCRIPT = """
import hashlib, sys
from datetime import datetime
sys.path.insert(0, sys.argv[1])
from calendar_samples import feeds_of, season_of_tasks
from care_planner.calendar.state_text import parse_state_text, write_state_text
published = parse_state_text(sys.stdin.buffer.read())
feeds = feeds_of(season_of_tasks(5), published, datetime.fromisoformat(sys.argv[2]))
for name in sorted(feeds.files):
    print(name, hashlib.sha256(feeds.files[name]).hexdigest())
print(hashlib.sha256(write_state_text(feeds.published)).hexdigest())
"""


def test_other_clock_hash_seed_and_time_zone_give_the_same_bytes() -> None:
    state = write_state_text(feeds_of(season_of_tasks(5)).published)
    here = Path(__file__).parent
    seen = set()
    for seed, zone, clock in (
        ("0", "UTC", "2027-03-02T09:00:00+00:00"),
        ("77", "Asia/Seoul", "2031-01-01T00:00:00+09:00"),
    ):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": str(here.parents[1])}
        arguments = [sys.executable, "-c", SCRIPT, str(here), clock]
        done = subprocess.run(arguments, input=state, capture_output=True, env=environment, check=True)
        seen.add(done.stdout)
    assert len(seen) == 1


def test_a_feed_that_fails_its_check_is_not_made(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(feeds, "check_bytes", lambda data: ["a planted fault"])
    with pytest.raises(
        CannotWrite, match=r"all\.ics failed its check and nothing was written: a planted fault"
    ):
        feeds_of([task()], Published())
