from dataclasses import replace
from datetime import datetime, timedelta, timezone

import pytest
from calendar_samples import IDENTITY, NOW, STAMP, day, event, feeds_of, no_walk, season_of_tasks, task

from care_planner.calendar.event import Event, Stamped
from care_planner.calendar.events import Maker, work_events
from care_planner.calendar.revisions import REMEMBERED_DAYS, Publication, Published, publish
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.rulebook.rule import Rest
from care_planner.tasks.agenda import agenda
from care_planner.tasks.model import Window
from care_planner.words.line import line
from care_planner.words.speaker import Speaker

LATER = NOW + timedelta(days=9)
LATER_STAMP = "20270310T080000Z"
FEED = "trees/sats-01.ics"


def again(before: Publication, *events: Event, now: datetime = LATER) -> Publication:
    return publish({FEED: events}, before.published, now)


def first(*events: Event, now: datetime = NOW) -> Publication:
    return publish({FEED: events}, Published(), now)


def only(publication: Publication) -> Stamped:
    (one,) = publication.feeds[FEED]
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
    assert after.feeds == before.feeds
    assert after.published == before.published


at = day("2027-05-22")
NOTICED = {
    "day": event(on="2027-05-23", window=Window(at - 3, at, at + 4)),
    "opens by two days": event(window=Window(at - 1, at, at + 4)),
    "closes by two days": event(window=Window(at - 3, at, at + 2)),
    "closes no more": event(window=Window(at - 3, at, None)),
    "title": event(title="Thin, do not prune"),
    "provisional": event(firm=False),
    "minutes": event(minutes=31),
    "category": event(category="flowers"),
    "loss": event(loss="tree"),
    "cautions": event(cautions=("Mind the wires",)),
    "a caution more": event(cautions=("Leave a leafy shoot on each branch", "Mind the wires")),
    "a number in a text": event(lines=(line("Not in the 31 days after: repot."),)),
    "what to do": event(what="Prune it"),
    "an alarm": event(alarm_minutes=900),
    "a link": event(url="https://trees.example/"),
}
NOT_NOTICED = {
    "both edges by one day": event(window=Window(at - 2, at, at + 3)),
    "the middle of the window, which is not told": event(window=Window(at - 3, at + 2, at + 4)),
    "the chance, which is not told": event(chance=0.3),
    "why, which the page tells": event(reasons=()),
}


@pytest.mark.parametrize("what", NOTICED)
def test_what_a_person_notices_raises_revision_and_stamps_together(what: str) -> None:
    before = event(lines=(line("Not in the 28 days after: repot."),)) if "number" in what else event()
    assert only(again(first(before), NOTICED[what])) == Stamped(NOTICED[what], 1, LATER_STAMP)


@pytest.mark.parametrize("what", NOT_NOTICED)
def test_what_nobody_notices_leaves_the_published_event(what: str) -> None:
    assert only(again(first(event()), NOT_NOTICED[what])) == Stamped(event(), 0, STAMP)


def test_slow_creep_is_noticed_once_it_adds_up() -> None:
    publication = first(event())
    for step, revision in ((1, 0), (2, 1), (3, 1), (4, 2)):
        moved = event(window=Window(at - 3, at, at + 4 + step))
        publication = again(publication, moved, now=NOW + timedelta(days=step))
        assert only(publication).sequence == revision
    assert at + 8 in only(publication).event.lines[0].days


def test_a_source_or_a_rest_of_a_rule_reaches_the_phone_and_layout_does_not() -> None:
    """As a grower's own file may change them; a line broken elsewhere is the same text."""
    rulebook, _ = read_rulebook()
    taxon = rulebook.taxa["satsuki-azalea"]
    rule = taxon.rules["prune-after-bloom"]
    one = task(what="Cut.")

    def shown(**changes: object) -> Event:
        changed = replace(taxon, rules={**taxon.rules, rule.id: rule.model_copy(update=changes)})
        made = Maker(IDENTITY, Speaker({"satsuki-azalea": changed}))
        return work_events(agenda([one], no_walk), made)[0]

    longer = Rest(after=["repot"], days=33)
    before = first(shown(rests=[Rest(after=["repot"], days=30)]))
    assert only(again(before, shown(rests=[longer]))).sequence == 1
    assert (
        only(again(before, shown(rests=[Rest(after=["repot"], days=30)], source="A book, 1999"))).sequence
        == 1
    )
    laid_out = "\n  ".join(rule.source.split(" ", 1))
    assert only(again(before, shown(rests=[Rest(after=["repot"], days=30)], source=laid_out))).sequence == 0


def test_stamps_rise_even_when_the_clock_was_set_back() -> None:
    moved = event(on="2027-05-29")
    assert only(again(first(event()), moved, now=NOW - timedelta(days=300))) == Stamped(
        moved, 1, "20270301T080001Z"
    )


def test_dropped_work_leaves_and_goes_on_rising_when_it_returns() -> None:
    moved = again(first(event()), event(on="2027-05-29"))
    dropped = again(moved)
    assert dropped.feeds == {FEED: []}
    returned = again(dropped, event(), now=LATER + timedelta(days=1))
    assert only(returned) == Stamped(event(), 2, "20270311T080000Z")


def test_dropped_work_is_remembered_by_the_plan_s_days_and_not_the_clock() -> None:
    other = event(rule="repot", on="2030-05-23")
    kept = again(first(event()), other, now=NOW + timedelta(days=9000))
    assert event().uid in kept.published.feeds[FEED]
    much_later = replace(other, day=event().day + REMEMBERED_DAYS + 1)
    forgotten = again(kept, much_later)
    assert set(forgotten.published.feeds[FEED]) == {other.uid}


def test_an_empty_plan_forgets_nothing() -> None:
    emptied = again(first(event()))
    assert set(emptied.published.feeds[FEED]) == {event().uid}


def test_a_tree_s_event_and_its_round_have_revisions_of_their_own() -> None:
    tasks = [task("a"), task("b")]
    before = feeds_of(tasks)
    after = feeds_of([*tasks, task("c")], before.published, LATER)
    (uid,) = before.published.feeds["all.ics"]
    assert after.published.feeds["all.ics"][uid].sequence == 1
    assert after.published.feeds["trees/a.ics"][uid].sequence == 0
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
    assert changed == {"all.ics", "works.ics", "trees/sats-01.ics"}
    raised = [uid for uid, record in after.published.feeds["trees/sats-01.ics"].items() if record.sequence]
    assert len(raised) == 1


def test_a_feed_that_is_gone_keeps_its_revisions_for_its_return() -> None:
    before = first(event())
    without = publish({}, before.published, LATER)
    returned = again(without, event(), now=LATER + timedelta(days=1))
    assert only(returned).sequence == 1
