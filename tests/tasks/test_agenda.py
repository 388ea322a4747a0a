"""A plan's tasks gathered: works in rounds, one walk a week, watches with a beginning and an end."""

import random
from dataclasses import replace
from datetime import date

import pytest

from care_planner.tasks.agenda import Agenda, agenda
from care_planner.tasks.model import Task, Window
from care_planner.tasks.rounds import Round, rounds

MONDAY = date(2027, 5, 17).toordinal()
SATURDAY = MONDAY + 5


def task(tree: str = "a", rule: str = "prune", day: int = SATURDAY, **changes: object) -> Task:
    made = Task(
        tree=tree,
        taxon="satsuki-azalea",
        rule=rule,
        season=2027,
        occurrence=1,
        kind="work",
        title=rule.capitalize(),
        day=day,
        window=Window(day - 3, day, day + 4),
        chance=0.9,
        minutes=10,
        reasons=(),
        bench="open",
        category="pruning",
    )
    return replace(made, **changes)  # type: ignore[arg-type]


def on_saturday(monday: int) -> int | None:
    return monday + 5


def gathered(*tasks: Task) -> Agenda:
    return agenda(tasks, on_saturday)


def one_round(*tasks: Task) -> Round:
    (found,) = rounds(tasks)
    return found


def test_the_same_work_on_one_day_is_one_round_across_benches_and_taxa() -> None:
    b, a = task("b", bench="shed", taxon="japanese-maple", minutes=20), task("a")
    work = one_round(b, a)
    assert (work.trees, work.key, work.minutes) == (("a", "b"), a.key, 30)
    assert [[one.tree for one in held] for held in work.by_taxon] == [["a"], ["b"]]


@pytest.mark.parametrize(
    "other", [{"day": SATURDAY + 1}, {"rule": "repot"}, {"title": "Prune in two steps"}, {"done": True}]
)
def test_another_day_rule_or_title_is_another_round(other: dict[str, object]) -> None:
    assert len(rounds([task("a"), task("b", **other)])) == 2  # type: ignore[arg-type]


def test_its_window_suits_every_tree_and_the_likely_day_lies_in_it() -> None:
    one, two = task("a", window=Window(10, 14, 20)), task("b", window=Window(16, 17, 18))
    assert one_round(one, two).window == Window(16, 16, 18)


def test_windows_that_do_not_meet_are_shown_whole() -> None:
    work = one_round(task("a", window=Window(10, 11, 12)), task("b", window=Window(15, 16, 17)))
    assert work.window == Window(10, 11, 17)


def test_an_edge_one_tree_lacks_is_not_shared() -> None:
    work = one_round(task("a", window=Window(10, 11, None)), task("b", window=Window(9, 12, 17)))
    assert work.window == Window(10, 11, None)


def test_the_dearer_comes_first_and_of_equally_dear_the_sooner_closing() -> None:
    looks = task(rule="thin", loss="looks", window=Window(SATURDAY, SATURDAY, SATURDAY))
    late = task(rule="prune", loss="flowers", window=Window(SATURDAY, SATURDAY, SATURDAY + 20))
    soon = task(rule="tag", loss="flowers")
    tree = task(rule="shelter", loss="tree", window=Window(SATURDAY, None, None))
    assert [one.rule for one in rounds([looks, late, soon, tree])] == ["shelter", "tag", "prune", "thin"]


def test_one_walk_a_week_with_a_thing_once_for_all_its_trees() -> None:
    monday, sunday = (task("a", "mites", MONDAY, way="walk"), task("b", "mites", MONDAY + 6, way="walk"))
    twice = task("a", "mites", MONDAY + 4, way="walk", occurrence=2)
    water = task("a", "water", MONDAY + 2, way="walk", loss="tree")
    (walk,) = gathered(monday, sunday, twice, water).walks
    assert (walk.day, walk.key) == (SATURDAY, "walk/2027-20")
    assert [(item.title, sorted(item.trees)) for item in walk.items] == [
        ("Water", ["a"]),
        ("Mites", ["a", "b"]),
    ]
    assert [len(item.tasks) for item in walk.items] == [1, 2]


def test_looks_for_one_stage_are_one_thing() -> None:
    look = task(kind="look", way="walk", title="Look: first flower?", stage="first-flower")
    (walk,) = gathered(look, replace(look, tree="b", rule="tag")).walks
    assert [sorted(item.trees) for item in walk.items] == [["a", "b"]]


def test_a_week_without_anything_has_no_walk() -> None:
    assert [
        walk.monday
        for walk in gathered(
            task(rule="m", day=MONDAY, way="walk"), task(rule="m", day=MONDAY + 15, way="walk", occurrence=2)
        ).walks
    ] == [MONDAY, MONDAY + 14]


def test_a_watch_is_one_from_its_first_tree_to_its_last() -> None:
    one = task("a", "cover", MONDAY, way="watch", until=MONDAY + 20)
    two = task("b", "cover", MONDAY + 10, way="watch", until=MONDAY + 30)
    again = task("a", "cover", MONDAY + 90, way="watch", until=MONDAY + 99, occurrence=2)
    first, second = gathered(one, again, two).watches
    assert (first.first, first.last, [t.tree for t in first.tasks]) == (MONDAY, MONDAY + 30, ["a", "b"])
    assert (first.key, second.key) == ("watch/cover/2027/1", "watch/cover/2027/2")


def test_a_watch_that_mostly_has_no_end_has_none() -> None:
    (watch,) = gathered(task("a", way="watch"), task("b", way="watch", until=SATURDAY + 3)).watches
    assert watch.last is None


def test_between_keeps_what_touches_those_days() -> None:
    whole = gathered(
        task(rule="before", day=MONDAY - 1),
        task(rule="on"),
        task(rule="span", day=MONDAY - 9, until=MONDAY),
        task(rule="w", day=MONDAY - 30, way="watch", until=MONDAY + 30),
        task(rule="over", day=MONDAY - 30, way="watch", until=MONDAY - 1),
        task(rule="s", day=MONDAY + 7, way="standing", until=MONDAY + 30),
    )
    week = whole.between(MONDAY, MONDAY + 7)
    assert [one.rule for one in week.rounds] == ["span", "on"]
    assert [one.rule for one in week.watches] == ["w"]
    assert week.standing == ()


def test_order_of_tasks_changes_nothing_and_nothing_is_lost() -> None:
    draw = random.Random(5)
    tasks = [
        task(
            f"t{number % 7}",
            f"r{number % 5}",
            MONDAY + number,
            way=("work", "walk", "watch", "standing")[number % 4],
            until=MONDAY + number + 3 if number % 4 > 1 else None,
            occurrence=number,
        )
        for number in range(80)
    ]
    whole = gathered(*tasks)
    mixed = tasks.copy()
    draw.shuffle(mixed)
    assert gathered(*mixed) == whole
    told = [one.tasks for part in (whole.rounds, whole.watches, whole.standing) for one in part]
    told += [item.tasks for walk in whole.walks for item in walk.items]
    assert {one.key for held in told for one in held} == {one.key for one in tasks}
