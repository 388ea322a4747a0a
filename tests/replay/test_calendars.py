"""The calendar of each day of a replay: legal, of one identity, growing by at most two entries a day."""

from functools import cache, partial
from itertools import islice
from uuid import UUID

import icalendar
import pytest
from small_world import FLOWERING, collection, day, pack_text, rule, rulebook
from test_season import RECORD

from care_planner.calendar.faults import CannotWrite
from care_planner.calendar.names import ALL_NAME
from care_planner.calendar.revisions import Published
from care_planner.folder.write_plan import maker
from care_planner.outlook.replay import calendars
from care_planner.outlook.replay.calendars import Calendars
from care_planner.outlook.replay.season import Replayed, days_known, season_nights
from care_planner.show.replay import calendar_lines

SHELTER = rule(
    "shelter",
    "closes: {first_night: {at_most_c: frost-limit}, plus_days: -1}\nopens: {of: closes, plus_days: -30}\n"
    "choose: late\neffects: [{moves_to: winter-bench}]\nwithout_note: done",
    kind="shelter",
)
RULES = rulebook(pack_text(FLOWERING, SHELTER))
TREES = collection({"taxon": "flowering-tree"})
DAYS = 24
OFFLINE = range(day("2008-01-15"), day("2008-01-22"))


def lived(days=DAYS):
    of = Replayed(TREES, (), RECORD, RULES, "cautious", 1, OFFLINE)
    made = Calendars(of, partial(maker, UUID(int=1), TREES, RULES))
    nights = list(islice(season_nights(of, 2008, made.stands, made.hears), days))
    return made, nights, of


@cache
def once():
    return lived()


def test_each_days_calendar_is_legal_and_keeps_its_identities():
    made, nights, _ = once()
    assert len(made.days) == DAYS and any(night.is_alarm for night in nights)
    assert [one.fault for one in made.days if one.fault] == []
    assert sum(one.fallen for one in made.days) == 0
    events = icalendar.Calendar.from_ical(made.files[ALL_NAME]).walk("VEVENT")
    assert len({str(event["UID"]) for event in events}) == len(events) == made.days[-1].entries


def test_the_feed_grows_by_at_most_two_entries_a_day():
    made, _, _ = once()
    assert sum(one.nights for one in made.days) > 0
    assert max(one.nights + one.others for one in made.days[1:]) <= 2


def test_a_week_without_network_keeps_the_plan_and_says_its_age():
    made, _, of = once()
    away = [one for one in made.days if one.day in OFFLINE]
    assert len(away) == 7
    assert [one.moved + one.dropped for one in away] == [0] * 7
    ages = [one.said.split(", ")[1].split(" (")[0] for one in away]
    assert ages[0] == "24 hours old; no newer one has come"
    assert ages[-1] == "7 days old; no newer one has come"
    assert "Without network" in list(calendar_lines(made.days, of))
    known = {one.day: one.record.end_day for one in islice(days_known(of, 2008), DAYS)}
    assert known[OFFLINE[-1]] == OFFLINE[0] - 1 and known[OFFLINE[-1] + 1] == OFFLINE[-1] + 1


def test_a_calendar_that_fails_its_check_is_counted(monkeypatch):
    def refuse(*_, **__):
        raise CannotWrite("all.ics failed its check")

    monkeypatch.setattr(calendars, "make_feeds", refuse)
    made, _, of = lived(2)
    assert [one.fault for one in made.days] == ["all.ics failed its check"] * 2
    assert any(line.split() == ["failed", "their", "check", "2"] for line in calendar_lines(made.days, of))


def test_revisions_that_go_back_are_counted(monkeypatch):
    real = calendars.make_feeds

    def forgetful(trees, tasks, walk_day, make, site, published, now, *rest):
        made = real(trees, tasks, walk_day, make, site, Published(), now, *rest)
        # As if the clock were set back by a day at each plan.
        for records in made.published.feeds.values():
            for uid, record in records.items():
                records[uid] = calendars.Record(record.sequence, "20000101T000000Z", record.day, record.shown)
        return made

    monkeypatch.setattr(calendars, "make_feeds", real)
    honest, _, _ = lived(1)
    monkeypatch.setattr(calendars, "make_feeds", forgetful)
    assert sum(one.fallen for one in honest.days) == 0
    made, _, _ = lived(2)
    published = made._published
    monkeypatch.setattr(calendars, "make_feeds", real)
    assert calendars._fallen(honest._published.feeds[ALL_NAME], published.feeds[ALL_NAME]) > 0


@pytest.mark.parametrize("most", [3])
def test_more_than_two_entries_of_the_forecast_would_be_seen(monkeypatch, most):
    real = calendars.night_events

    def many(found, outlook, make):
        made = real(found, outlook, make)
        more = [
            make.event(f"watch/other/{outlook.today}/{n}", outlook.today, "x", [], [calendars.CATEGORY])
            for n in range(most)
        ]
        return made + more

    monkeypatch.setattr(calendars, "night_events", many)
    made, _, _ = lived(3)
    assert max(one.nights for one in made.days[1:]) >= most
