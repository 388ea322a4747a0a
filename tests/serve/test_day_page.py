"""The page of the day, by the plans of two days: what was missed, the order of works, the walk, looks."""

from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path

import pytest
from example_copy import copied
from serving import clock

from care_planner.rulebook.rule import LOSSES
from care_planner.serve.cards import Card
from care_planner.serve.day_page import DayPage, day_page
from care_planner.serve.refresh import Refreshed, refresh
from care_planner.serve.scope import Scope
from care_planner.show.paper.week import hours
from care_planner.tasks.agenda import agenda

EVERYTHING = Scope()


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Refreshed]:
    folder = copied(tmp_path_factory.mktemp("day") / "trees")
    return folder, refresh(folder, clock)


def page_of(made: Refreshed, scope: Scope = EVERYTHING, noted: Sequence[tuple[str, str]] = ()) -> DayPage:
    inputs, today = made.reading.inputs, made.plan.today
    return day_page(made.plan.tasks, inputs.collection, inputs.rulebook, scope, today, frozenset(noted))


def trees(card: Card) -> set[str]:
    return {tree.id for tree in card.trees}


def test_every_work_of_the_week_is_on_the_page_once(made: tuple[Path, Refreshed]) -> None:
    page, plan = page_of(made[1]), made[1].plan
    works = [t for t in plan.tasks if t.day < plan.today + 7 and t.way == "work" and not t.left]
    shown = [(tree, card.rule) for part in page.parts for card in part.cards for tree in trees(card)]
    assert works and sorted(shown) == sorted((task.tree, task.rule) for task in works)
    week = agenda(plan.tasks, made[1].reading.inputs.collection.people.walk_day)
    walks = week.between(plan.today, plan.today + 7).walks
    assert page.walk is not None
    assert page.walk.things == sum(len(one.items) for one in walks)  # as the calendar counts them
    assert page.walk.minutes == hours(sum(one.minutes for one in walks))
    walk = {t.rule for one in walks for item in one.items for t in item.tasks if t.kind == "work"}
    assert walk
    assert {item.value.split("/")[0] for _, items in page.walk.benches for item in items} == walk
    (first,) = [part for part in page.parts if part.id == "today"]
    assert (
        {(value.split("/")[0], tree) for value in first.open for tree in value.split("/")[1].split(",")}
        == {(card.rule, tree) for card in first.cards for tree in trees(card)}
        != set()
    )


def test_the_head_of_a_day_counts_the_walk_that_is_on_it(made: tuple[Path, Refreshed]) -> None:
    page, plan = page_of(made[1]), made[1].plan
    whole = agenda(plan.tasks, made[1].reading.inputs.collection.people.walk_day)
    (walk,) = whole.between(plan.today, plan.today + 1).walks
    works = sum(task.minutes for task in plan.tasks if task.day == plan.today and task.way == "work")
    assert page.parts[0].title == f"Today, {hours(works + walk.minutes)} with the bench walk"


def test_within_a_day_the_dearest_comes_first_then_what_closes_sooner(made: tuple[Path, Refreshed]) -> None:
    page, plan = page_of(made[1]), made[1].plan
    keys = []
    for card in page.parts[0].cards:
        tasks = [t for t in plan.tasks if (t.rule, t.title, t.day) == (card.rule, card.title, plan.today)]
        closes = min(t.window.closes or 10**9 for t in tasks)
        keys.append((min(LOSSES.index(t.loss) for t in tasks), closes))
    assert len(keys) > 2 and keys == sorted(keys)


def test_one_look_is_one_card_with_a_row_a_tree(made: tuple[Path, Refreshed]) -> None:
    looks = page_of(made[1]).looks
    assert looks and len({card.stage for card in looks}) == len(looks)
    assert any(len(card.trees) > 1 for card in looks)


def test_what_was_noted_a_moment_ago_is_not_asked_again(made: tuple[Path, Refreshed]) -> None:
    page = page_of(made[1])
    card = page.parts[0].cards[0]
    assert page.walk is not None
    item = page.walk.benches[0][1][0]
    rule, _, walked = item.value.partition("/")
    noted = [(tree, card.rule) for tree in trees(card)] + [(tree, rule) for tree in walked.split(",")]
    assert (
        page_of(made[1], noted=[(t, str(made[1].plan.today)) for t in trees(card)])
        .parts[0]
        .cards[0]
        .open_trees
        == ()
    )
    after = page_of(made[1], noted=noted)
    assert after.walk is not None
    assert card.open_trees and after.parts[0].cards[0].open_trees == ()
    assert after.walk.number == page.walk.number - 1


def test_work_without_a_note_is_missed_the_day_after_and_not_before(made: tuple[Path, Refreshed]) -> None:
    folder, first = made
    inputs, today = first.reading.inputs, first.plan.today
    assert page_of(first).missed == ()
    due = {(t.tree, t.rule) for t in first.plan.tasks if t.day == today and t.way == "work"}
    later = refresh(folder, lambda zone: clock(zone) + timedelta(days=1))
    missed = {(tree, card.rule) for card in page_of(later).missed for tree in trees(card)}
    assert missed and missed <= due
    assert all("not noted as done by 29 May" in card.moved for card in page_of(later).missed if card.moved)
    one = sorted(missed)[0]
    of_one = page_of(later, Scope("tree", one[0]))
    assert of_one.missed and all(trees(card) == {one[0]} for card in of_one.missed)
    assert inputs.collection.trees
