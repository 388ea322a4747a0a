"""`Not this weekend`: what is said, and what moves."""

import shutil
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from small_world import PLAIN, collection, notes, pack_text, rule, rulebook, smooth_record

from care_planner.cli import main
from care_planner.folder.without_days_off import with_days_off
from care_planner.journal.days_off import days_off_said
from care_planner.journal.model import Entry
from care_planner.plan import Plan, make_plan
from care_planner.tasks.links import DayChosen
from care_planner.words.fates import why_not
from care_planner.words.moves import moved_words
from care_planner.years.previous import NO_PREVIOUS, PreviousPlan, PreviousTask, PreviousTree

MONDAY = date(2013, 4, 8)
SAID = {
    "not this weekend": ("2013-04-13", "2013-04-14"),
    "No time this weekend.": ("2013-04-13", "2013-04-14"),
    "not next weekend": ("2013-04-20", "2013-04-21"),
    "not this week": ("2013-04-08", "2013-04-14"),
    "can't do it today": ("2013-04-08", "2013-04-08"),
    "not tomorrow": ("2013-04-09", "2013-04-09"),
    "not on Saturday": ("2013-04-13", "2013-04-13"),
    "not until 2013-05-01": ("2013-04-08", "2013-04-30"),
}


@pytest.mark.parametrize("text", SAID)
def test_what_days_are_off(text: str) -> None:
    said = days_off_said(text, MONDAY)
    assert said is not None and tuple(day.isoformat() for day in said) == SAID[text]


@pytest.mark.parametrize(
    "text", ["not yet", "not open this week", "no repot this year", "not until 2013-04-01"]
)
def test_what_is_something_else(text: str) -> None:
    assert days_off_said(text, MONDAY) is None


def test_on_a_sunday_the_rest_of_the_weekend_is_off() -> None:
    sunday = date(2013, 4, 14)
    assert days_off_said("not this weekend", sunday) == (sunday, sunday)


EARLY = "opens: {month_day: '04-10'}\ncloses: {month_day: '05-10'}\nchoose: early"
LATE = "opens: {month_day: '05-10'}\ncloses: {month_day: '06-10'}"
TREES = collection({}, {}, people={"days": ["sat", "sun"]})
WEEKEND = {"date": "2013-04-08", "days_off": {"from": "2013-04-13", "to": "2013-04-14"}}


def planned(entries: Sequence[Entry], previous: PreviousPlan = NO_PREVIOUS) -> Plan:
    held = with_days_off(TREES, entries, MONDAY)
    rules = rulebook(pack_text(PLAIN, rule("prune", EARLY), rule("tie", LATE)))
    return make_plan(held, entries, smooth_record(), rules, MONDAY.toordinal(), previous)


def published(plan: Plan) -> PreviousPlan:
    trees = {}
    for tree in plan.taxa:
        tasks = {
            task.part: PreviousTask(
                task.day, task.title, task.rule, task.kind, task.season, task.window.opens, task.window.closes
            )
            for task in plan.tasks
            if task.tree == tree
        }
        trees[tree] = PreviousTree(tasks, made_on=plan.today)
    return PreviousPlan(plan.today, trees)


def days(plan: Plan) -> dict[tuple[str, str, int], date]:
    return {(task.tree, task.rule, task.season): date.fromordinal(task.day) for task in plan.tasks}


def test_what_lies_on_the_days_moves_and_nothing_else() -> None:
    before = planned([])
    assert days(before)["tree-1", "prune", 2013] == date(2013, 4, 13)
    after = planned(notes(WEEKEND), published(before))
    moved = {key for key, day in days(after).items() if day != days(before)[key]}
    assert moved == {("tree-1", "prune", 2013)}
    (task,) = [t for t in after.tasks if (t.tree, t.rule, t.season) == ("tree-1", "prune", 2013)]
    assert moved_words(task.move) == "moved from 13 Apr: you put it off"


def test_put_off_for_all_trees_nobody_works_and_the_walk_is_on_another_day() -> None:
    both = [*notes(WEEKEND), *notes(WEEKEND, tree="tree-2")]
    held = with_days_off(TREES, both, MONDAY)
    assert held.people.walk_day(MONDAY.toordinal()) == date(2013, 4, 12).toordinal()
    assert not any(date(2013, 4, 13) <= day <= date(2013, 4, 14) for day in days(planned(both)).values())
    assert not held.people.is_away(date(2013, 4, 13).toordinal())  # somebody is there and waters
    assert with_days_off(TREES, notes(WEEKEND), MONDAY) is TREES
    assert held.people != TREES.people  # so that no plan made without the note is taken for one with it


def test_trees_that_are_put_off_and_others_are_planned_apart_whichever_comes_first() -> None:
    for noted, other in (("tree-1", "tree-2"), ("tree-2", "tree-1")):
        found = days(planned(notes(WEEKEND, tree=noted)))
        assert found[other, "prune", 2013] == date(2013, 4, 13)
        assert found[noted, "prune", 2013] == date(2013, 4, 20)  # the next weekend, no day between


def test_it_can_be_noted_and_taken_back(tmp_path: Path) -> None:
    folder = tmp_path / "trees"
    example = Path(__file__).parents[2] / "examples" / "gangneung"
    shutil.copytree(example, folder, ignore=shutil.ignore_patterns("calendar"))
    run = CliRunner().invoke
    noted = run(main, ["note", str(folder), "all", "not this weekend", "--today", "2027-05-24"])
    assert noted.exit_code == 0 and "noted on 2027-05-24: not this weekend" in noted.output
    written = "".join(path.read_text() for path in (folder / "journal").iterdir())
    assert "days_off: {from: 2027-05-29, to: 2027-05-30}" in written
    name = noted.output.split("(")[1].split()[0]
    back = run(main, ["note", str(folder), "all", f"take-back {name}", "--today", "2027-05-24"])
    assert back.exit_code == 0, back.output


def test_why_tells_days_off_from_days_away() -> None:
    off = {"date": "2013-04-08", "days_off": {"from": "2013-04-08", "to": "2013-05-10"}}
    chosen = planned(notes({**off, "tree": ["tree-1", "tree-2"]})).tasks[0].reasons[0]
    assert isinstance(chosen, DayChosen)
    assert why_not(chosen.aim).startswith("a note puts all work off for what is left of its time")
