"""Events kept from one publishing to the next give the very bytes that are made anew."""

import pytest
from calendar_samples import IDENTITY, NOW, task

from care_planner.calendar.events import Alarms, Maker
from care_planner.calendar.feeds import make_feeds
from care_planner.calendar.kept_events import KeptEvents
from care_planner.calendar.revisions import Published
from care_planner.words.speaker import Speaker

TREES = ("sats-01", "sats-02")
BEFORE = [task(), task("sats-02"), task("sats-02", "repot", "2027-04-03")]
RULES = {}
NAMED = Maker(IDENTITY, Speaker(RULES, {"sats-01": "By the gate"}))


def maker(**changes):
    return Maker(IDENTITY, Speaker(RULES), **changes)


def feeds(tasks, make, kept):
    walk_day = {}.get
    return make_feeds(TREES, tasks, walk_day, make, "Garden", Published(), NOW, kept=kept).files


@pytest.mark.parametrize(
    ("tasks", "make"),
    [
        (BEFORE, maker()),
        ([BEFORE[0], *BEFORE[2:]], maker()),
        ([task(on="2027-05-29"), *BEFORE[1:]], maker()),
        ([task(why=["Another reason"], minutes=45), *BEFORE[1:]], maker()),
        ([], maker()),
        (BEFORE, NAMED),
        (BEFORE, maker(alarms=Alarms(60))),
        (BEFORE, maker(url="https://trees.example/note")),
        (BEFORE, maker(whose={BEFORE[0].day: "anna"})),
    ],
    ids=["same", "gone", "moved", "said", "none", "named", "alarms", "link", "whose"],
)
def test_kept_events_change_no_byte(tasks, make):
    kept = KeptEvents()
    feeds(BEFORE, maker(), kept)
    assert feeds(tasks, make, kept) == feeds(tasks, make, None)
