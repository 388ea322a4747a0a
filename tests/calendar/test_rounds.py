import random
from uuid import UUID

import pytest
from calendar_samples import IDENTITY, day, season_of_tasks, task

from care_planner.calendar.feeds import task_uids
from care_planner.calendar.identity import uid
from care_planner.calendar.rounds import round_events, tree_events
from care_planner.tasks.model import Task, Window


def rounds(*tasks: Task) -> list:
    return round_events(tasks, task_uids(IDENTITY, tasks))


def test_reference_uid_is_uuid5_of_rfc_9562() -> None:
    # RFC 9562, appendix A.4: the DNS namespace with the name www.example.com.
    dns = UUID("6ba7b810-9dad-11d1-80b4-00c04fd430c8")
    assert uid(dns, "www.example.com") == "2ed6657d-e927-568b-95e1-2665a8aea6a2"


def test_identity_does_not_know_the_date() -> None:
    early, late = task(on="2027-05-22"), task(on="2027-06-30")
    assert task_uids(IDENTITY, [early]) == task_uids(IDENTITY, [late])


def test_same_work_bench_and_day_is_one_event_with_the_first_tree_s_identity() -> None:
    b, a, c = task("b", minutes=20), task("a", minutes=10), task("c", minutes=30)
    (gathered,) = rounds(b, a, c)
    assert gathered.uid == uid(IDENTITY, a.key)
    assert gathered.title == "Prune after bloom: a, b, c"
    assert gathered.minutes == 60
    assert gathered.trees == ("a", "b", "c")


def test_many_trees_are_counted_in_the_title() -> None:
    (gathered,) = rounds(*(task(name) for name in "abcd"))
    assert gathered.title == "Prune after bloom: 4 trees"


@pytest.mark.parametrize(
    "other",
    [
        {"bench": "shed"},
        {"on": "2027-05-23"},
        {"kind": "look"},
        {"rule": "repot"},
        {"title": "Prune in two steps"},
    ],
)
def test_other_bench_day_kind_rule_or_title_is_another_round(other: dict[str, object]) -> None:
    assert len(rounds(task("a"), task("b", **other))) == 2


def test_shared_window_suits_every_tree_and_chance_is_the_least() -> None:
    one = task("a", window=Window(10, 14, 20), chance=0.9)
    two = task("b", window=Window(12, 16, 18), chance=0.7)
    (gathered,) = rounds(one, two)
    assert gathered.window == Window(12, 14, 18)
    assert gathered.chance == 70


def test_windows_that_do_not_meet_are_shown_whole() -> None:
    (gathered,) = rounds(task("a", window=Window(10, 11, 12)), task("b", window=Window(15, 16, 17)))
    assert gathered.window == Window(10, 11, 17)


def test_an_edge_one_tree_lacks_is_not_shared() -> None:
    (gathered,) = rounds(task("a", window=Window(10, 11, None)), task("b", window=Window(9, 12, 17)))
    assert gathered.window == Window(10, 11, None)


def test_one_provisional_tree_makes_the_round_provisional() -> None:
    (gathered,) = rounds(task("a"), task("b", firm=False))
    assert not gathered.firm


def test_reasons_are_the_shared_ones_or_said_to_be_one_tree_s() -> None:
    (shared,) = rounds(task("a", why=("x", "y")), task("b", why=("y", "z")))
    assert shared.why == ("y",)
    (own,) = rounds(task("a", why=("x",)), task("b", why=("z",)))
    assert own.why == ("for a: x",)


def test_cautions_of_all_trees_once_each() -> None:
    (gathered,) = rounds(task("a", cautions=("x", "y")), task("b", cautions=("y", "z")))
    assert gathered.cautions == ("x", "y", "z")


def test_two_occurrences_on_one_tree_name_it_once() -> None:
    (gathered,) = rounds(task("a"), task("a", occurrence=2))
    assert gathered.trees == ("a",)


def test_order_of_tasks_changes_nothing() -> None:
    tasks = season_of_tasks(6)
    mixed = tasks.copy()
    random.Random(5).shuffle(mixed)
    uids = task_uids(IDENTITY, tasks)
    by_uid = {event.uid: event for event in round_events(tasks, uids)}
    assert {event.uid: event for event in round_events(mixed, uids)} == by_uid


def test_a_tree_s_own_feed_has_every_task() -> None:
    tasks = season_of_tasks(2)
    events = tree_events(tasks, task_uids(IDENTITY, tasks), alarm_hours=15)
    assert sorted(events) == ["sats-01", "sats-02"]
    assert [event.day for event in events["sats-01"]] == [
        day("2027-03-13"),
        day("2027-05-15"),
        day("2027-06-05"),
    ]
    assert all(event.alarm_hours == 15 for event in events["sats-01"])


def test_a_task_without_a_uid_is_a_fault() -> None:
    with pytest.raises(KeyError):
        round_events([task(tree="unknown")], {})
