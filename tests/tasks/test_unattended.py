"""Nobody is there while water is due every day: told before the plan, and in the calendar a week before."""

from datetime import UTC, datetime
from typing import Any
from uuid import UUID

import pytest
from small_world import PLAIN, collection, day, pack_text, rule, rulebook, smooth_record

from care_planner.calendar.feeds import make_feeds
from care_planner.calendar.revisions import Published
from care_planner.folder.write_plan import maker
from care_planner.plan import make_plan
from care_planner.show.questions import unattended_lines

DAILY = "way: watch\nopens: {month_day: '04-01'}\ncloses: {month_day: '09-30'}"
RULES = rulebook(pack_text(PLAIN, rule("water", DAILY, kind="water")))
AWAY = [{"from": "2013-05-08", "to": "2013-05-21"}]


def told(today: str, **people: Any) -> tuple[str, str]:
    """The first lines of the plan, and the feed of everything."""
    trees = collection({}, people=people)
    plan = make_plan(trees, [], smooth_record(), RULES, day(today))
    make = maker(UUID(int=1), trees, RULES, plan)
    at = datetime(2013, 1, 1, tzinfo=UTC)
    feeds = make_feeds(["tree-1"], plan.tasks, trees.people.walk_day, make, "x", Published(), at)
    return " ".join(unattended_lines(plan, trees, "my-trees")), feeds.files["all.ics"].decode()


@pytest.mark.parametrize(("today", "on"), [("2013-04-20", "20130501"), ("2013-05-04", "20130507")])
def test_both_away_while_water_is_due_is_told_in_time(today: str, on: str) -> None:
    lines, feed = told(today, anna={"away": AWAY}, ben={"away": AWAY})
    assert "From 8 May nobody is here for 14 days: who waters?" in lines
    assert "care-planner sheets my-trees --away 2013-05-08 2013-05-21" in lines
    (event,) = [one for one in feed.split("BEGIN:VEVENT") if "SUMMARY:Who waters from 8 May?" in one]
    assert f"DTSTART;VALUE=DATE:{on}" in event


def test_nothing_is_told_where_somebody_is_there_or_no_water_is_due_or_days_are_few() -> None:
    few = [{"from": "2013-05-08", "to": "2013-05-09"}]
    winter = [{"from": "2013-02-01", "to": "2013-02-20"}]
    for today, people in (
        ("2013-04-20", {"anna": {"away": AWAY}, "ben": {}}),
        ("2013-04-20", {"anna": {"away": few}}),
        ("2013-01-20", {"anna": {"away": winter}}),
    ):
        lines, feed = told(today, **people)
        assert lines == "" and "Who waters" not in feed
