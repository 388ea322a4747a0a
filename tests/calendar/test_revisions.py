from dataclasses import replace
from datetime import datetime, timedelta, timezone

import pytest
from calendar_samples import NOW, STAMP, day, event, feeds_of, season_of_tasks, task

from care_planner.calendar.event import Event, Stamped
from care_planner.calendar.revisions import REMEMBERED_DAYS, Publication, Published, publish
from care_planner.tasks.model import Window

LATER = NOW + timedelta(days=9)
LATER_STAMP = "20270310T080000Z"


def again(before: Publication, *events: Event, now: datetime = LATER) -> Publication:
    return publish({"sats-01": events}, events, before.published, now)


def first(*events: Event, now: datetime = NOW) -> Publication:
    return publish({"sats-01": events}, events, Published(), now)


def only(publication: Publication) -> Stamped:
    (one,) = publication.trees["sats-01"]
    assert publication.rounds == [one]
    return one


def test_a_new_event_starts_at_nought_with_the_time_of_the_plan() -> None:
    assert only(first(event())) == Stamped(event(), 0, STAMP)


def test_the_time_is_kept_in_utc_and_whole_seconds() -> None:
    seoul = NOW.astimezone(timezone(timedelta(hours=9))).replace(microsecond=5)
    assert only(first(event(), now=seoul)).stamp == STAMP


def test_a_time_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="needs a time zone"):
        first(event(), now=NOW.replace(tzinfo=None))


def test_nothing_new_changes_nothing_at_another_clock() -> None:
    before = first(event())
    after = again(before, event())
    assert after.trees == before.trees
    assert after.published == before.published


at = day("2027-05-22")
NOTICED = {
    "day": event(on="2027-05-23", window=Window(at - 3, at, at + 4)),
    "opens by two days": event(window=Window(at - 1, at, at + 4)),
    "likely by two days": event(window=Window(at - 3, at + 2, at + 4)),
    "closes by two days": event(window=Window(at - 3, at, at + 2)),
    "closes no more": event(window=Window(at - 3, at, None)),
    "chance by ten points": event(chance=0.7),
    "title": event(title="Thin, do not prune"),
    "provisional": event(firm=False),
    "minutes": event(minutes=31),
    "category": event(category="flowers"),
    "cautions": event(cautions=("Mind the wires",)),
    "a reason's words": event(why=("End of bloom seen 20 May", "Common practice")),
    "a reason more": event(why=("End of bloom expected 20 May", "Common practice", "Weather of Gangneung")),
    "a reason's date by two days": event(why=("End of bloom expected 22 May", "Common practice")),
    "an alarm": event(alarm_hours=15),
}
NOT_NOTICED = {
    "every edge by one day": event(window=Window(at - 2, at + 1, at + 3)),
    "chance by nine points": event(chance=0.71),
    "a reason's date by one day": event(why=("End of bloom expected 21 May", "Common practice")),
}


@pytest.mark.parametrize("what", NOTICED)
def test_what_a_person_notices_raises_revision_and_stamps_together(what: str) -> None:
    assert only(again(first(event()), NOTICED[what])) == Stamped(NOTICED[what], 1, LATER_STAMP)


@pytest.mark.parametrize("what", NOT_NOTICED)
def test_what_nobody_notices_leaves_the_published_event(what: str) -> None:
    assert only(again(first(event()), NOT_NOTICED[what])) == Stamped(event(), 0, STAMP)


def test_slow_creep_is_noticed_once_it_adds_up() -> None:
    publication = first(event())
    for step, revision in ((1, 0), (2, 1), (3, 1), (4, 2)):
        moved = event(window=Window(at - 3, at, at + 4 + step))
        publication = again(publication, moved, now=NOW + timedelta(days=step))
        assert only(publication).sequence == revision
    assert only(publication).event.window.closes == at + 8


@pytest.mark.parametrize(
    ("old", "new", "revision"),
    [
        ("412 of 430 degree-days", "440 of 430 degree-days", 0),
        ("412 of 430 degree-days", "460 of 430 degree-days", 1),
        ("80 % of years", "72 % of years", 0),
        ("80 % of years", "70 % of years", 1),
        ("80 % of years", "80 of years", 1),
        ("from 31 Dec 2027", "from 1 Jan 2028", 0),
        ("from 31 Dec", "from 2 Jan", 1),
        ("from 28 Feb", "from 1 Mar", 0),
        ("from 2027-05-01", "from 2027-05-02", 0),
        ("from 2027-05-01", "from 2027-05-03", 1),
        ("from 2027-12-31", "from 2028-01-01", 0),
        ("from 2027-05-01", "from 1 May 2027", 0),
        ("5 mm", "5 May", 1),
        ("0 notes", "1 notes", 1),
    ],
)
def test_figures_in_reasons_may_move_as_little_as_windows_and_chances(
    old: str, new: str, revision: int
) -> None:
    assert only(again(first(event(why=(old,))), event(why=(new,)))).sequence == revision


def test_stamps_rise_even_when_the_clock_was_set_back() -> None:
    moved = event(on="2027-05-29")
    assert only(again(first(event()), moved, now=NOW - timedelta(days=300))) == Stamped(
        moved, 1, "20270301T080001Z"
    )


def test_dropped_work_leaves_and_goes_on_rising_when_it_returns() -> None:
    moved = again(first(event()), event(on="2027-05-29"))
    dropped = again(moved)
    assert dropped.trees == {"sats-01": []}
    assert dropped.rounds == []
    returned = again(dropped, event(), now=LATER + timedelta(days=1))
    assert only(returned) == Stamped(event(), 2, "20270311T080000Z")


def test_dropped_work_is_remembered_by_the_plan_s_days_and_not_the_clock() -> None:
    other = event(rule="repot", on="2030-05-23")
    kept = again(first(event()), other, now=NOW + timedelta(days=9000))
    assert event().uid in kept.published.trees
    much_later = replace(other, day=event().day + REMEMBERED_DAYS + 1)
    forgotten = again(kept, much_later)
    assert set(forgotten.published.trees) == set(forgotten.published.rounds) == {other.uid}


def test_an_empty_plan_forgets_nothing() -> None:
    emptied = again(first(event()))
    assert set(emptied.published.trees) == {event().uid}


def test_a_tree_s_event_and_its_round_have_revisions_of_their_own() -> None:
    tasks = [task("a"), task("b")]
    before = feeds_of(tasks)
    after = feeds_of([*tasks, task("c")], before.published, LATER)
    uid = min(before.published.rounds)
    assert after.published.rounds[uid].sequence == 1
    assert after.published.trees[uid].sequence == 0
    assert after.files["trees/a.ics"] == before.files["trees/a.ics"]


def test_regression_small_changes_everywhere_change_no_byte() -> None:
    tasks = season_of_tasks(4)
    before = feeds_of(tasks)
    nudged = [
        replace(
            one,
            chance=one.chance - 0.09,
            window=Window(
                *(edge and edge + 1 for edge in (one.window.opens, one.window.likely, one.window.closes))
            ),
        )
        for one in tasks
    ]
    after = feeds_of(nudged, before.published, LATER)
    assert after.files == before.files
    assert after.published == before.published


def test_one_moved_task_changes_its_own_events_only() -> None:
    tasks = season_of_tasks(4)
    before = feeds_of(tasks)
    moved = [replace(tasks[0], day=tasks[0].day + 7), *tasks[1:]]
    after = feeds_of(moved, before.published, LATER)
    changed = {name for name in before.files if after.files[name] != before.files[name]}
    assert changed == {"all.ics", "trees/sats-01.ics"}
    raised = [uid for uid, record in after.published.trees.items() if record.sequence]
    assert len(raised) == 1
