"""The watch of a night in the feed: legal bytes, one identity, an alarm at 16 h of the day itself."""

from datetime import UTC, datetime, timedelta
from uuid import UUID

import icalendar
import pytest
from test_nights import BENCHES, ISSUED, TODAY, outlook, tonight, tree

from care_planner.calendar.check_bytes import check_bytes
from care_planner.calendar.events import Maker
from care_planner.calendar.feed import Heading, render
from care_planner.calendar.feeds import make_feeds
from care_planner.calendar.names import ALL_NAME
from care_planner.calendar.revisions import Published
from care_planner.outlook.watch.night_feed import night_events, past_nights
from care_planner.outlook.watch.nights import heat_watch
from care_planner.words.speaker import Speaker

MAKE = Maker(UUID(int=7), Speaker({}, {}, (), {}))
NOW = datetime(2027, 1, 14, 7, tzinfo=UTC)


def feed(*found, published=None, now=NOW):
    nights = night_events(found, outlook([0.0]), MAKE)
    return make_feeds([], [], lambda day: None, MAKE, "Garden", published or Published(), now, nights=nights)


def event(data):
    (found,) = icalendar.Calendar.from_ical(data).walk("VEVENT")
    return found


def test_the_alarm_sounds_at_16_h_of_the_evening_it_names():
    found = event(feed(tonight(-1.0)).files[ALL_NAME])
    assert found.start.toordinal() == TODAY
    (alarm,) = found.walk("VALARM")
    assert alarm["TRIGGER"].params["RELATED"] == "END"
    end = datetime.combine(found.end, datetime.min.time())
    assert end + alarm.TRIGGER == datetime.combine(found.start, datetime.min.time()) + timedelta(hours=16)
    assert found["STATUS"] == "CONFIRMED"


def test_a_night_that_has_passed_stays_a_while_as_it_was():
    (told,) = night_events([tonight(-1.0)], outlook([0.0]), MAKE)
    work = MAKE.event("work", TODAY, "Work", [], ["roots"])
    for later, kept in ((0, False), (1, True), (13, True), (14, False)):
        assert past_nights([work, told], TODAY + later) == ([told] if kept else [])


def test_an_old_forecast_is_named_with_its_hour():
    for hours, said in ((11, "Forecast: a file"), (13, "Forecast of Wed 13 Jan 06:00: a file")):
        at = ISSUED + timedelta(hours=hours)
        (made,) = night_events([tonight(-1.0)], outlook([0.0]), MAKE, at)
        assert made.lines[-1].parts[0].startswith(said)


def test_heat_sounds_in_the_morning():
    hot = heat_watch(TODAY, {"open": [tree()]}, BENCHES, outlook([9.0], highs=38.0), "middle")
    found = event(feed(hot).files[ALL_NAME])
    (alarm,) = found.walk("VALARM")
    end = datetime.combine(found.end, datetime.min.time())
    assert (end + alarm.TRIGGER).hour == 7


def test_a_night_keeps_its_identity_and_its_revisions_rise():
    first = feed(tonight(-1.0))
    again = feed(tonight(-1.0), published=first.published, now=NOW + timedelta(hours=1))
    assert again.files == first.files
    gone = feed(tonight(5.0, before="firm"), published=again.published, now=NOW + timedelta(hours=6))
    old, new = event(first.files[ALL_NAME]), event(gone.files[ALL_NAME])
    assert old["UID"] == new["UID"]
    assert new["SEQUENCE"] > old["SEQUENCE"]
    assert new.walk("VALARM") == []
    assert new["SUMMARY"].startswith("Withdrawn") and new["STATUS"] == "TENTATIVE"


@pytest.mark.parametrize("low", [-30.0, -1.0, 1.0])
def test_the_bytes_pass_the_last_look(low):
    assert check_bytes(feed(tonight(low, tree(name="tree-äöü"))).files[ALL_NAME]) == []


def test_a_trigger_that_is_neither_is_still_a_fault():
    stamped = event(feed(tonight(-1.0)).files[ALL_NAME])
    assert stamped
    data = feed(tonight(-1.0)).files[ALL_NAME]
    for bad in (b"TRIGGER;RELATED=END:PT8H", b"TRIGGER;RELATED=START:-PT8H", b"TRIGGER;RELATED=END:-8H"):
        assert check_bytes(data.replace(b"TRIGGER;RELATED=END:-PT8H", bad))
    assert check_bytes(render(Heading("x", "y"), [])) == []


def test_a_feed_grows_by_two_entries_a_day_and_tomorrow_never_waits():
    """Frost tonight and tomorrow, frost and heat on the day after: these wait, in this run and the next."""
    day = NOW.toordinal()
    known = feed(tonight(-1.0)).published
    ahead = [
        MAKE.event(f"watch/{kind}/{day + n}", day + n, f"{kind} {n}", [], ["frost and heat"])
        for n, kind in ((1, "frost"), (2, "frost"), (2, "heat"))
    ]

    def titles(published, now):
        made = make_feeds([], [], lambda day: None, MAKE, "Garden", published, now, nights=ahead)
        events = icalendar.Calendar.from_ical(made.files[ALL_NAME]).walk("VEVENT")
        return sorted(str(event["SUMMARY"]) for event in events), made.published

    first, published = titles(known, NOW + timedelta(hours=1))
    assert first == ["frost 1"]  # tonight's was new this morning
    assert titles(published, NOW + timedelta(hours=6))[0] == first
    assert titles(published, NOW + timedelta(hours=23))[0] == ["frost 1", "frost 2", "heat 2"]
    assert titles(Published(), NOW)[0] == ["frost 1", "frost 2", "heat 2"]  # a first feed has room for all
