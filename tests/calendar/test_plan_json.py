import json
from dataclasses import replace
from pathlib import Path

import pytest
from calendar_samples import HOSTILE, day, season_of_tasks, task
from said_before import previous_plan

from care_planner.calendar.plan_json import STAGE_COLUMNS, plan_json
from care_planner.folder.read_previous import read_previous
from care_planner.problems import Problem
from care_planner.tasks.model import Task, Window
from care_planner.tasks.stage_rows import StageRow
from care_planner.years.move import Move, NotDoneBy

MAY_10, MAY_20 = day("2027-05-10"), day("2027-05-20")
STAGE = StageRow("first-flower", "60", 2027, MAY_10, MAY_20, None, 0.97, "expected", "sats-01")
TODAY = day("2027-03-01")


def plan(tasks: list[Task], stages: tuple = (), problems: tuple = ()) -> bytes:
    return plan_json(TODAY, 2027, day("2028-12-31"), tasks, stages, problems)


def test_keys_and_forms() -> None:
    one = task(window=Window(day("2027-05-19"), None, None), chance=0.123456, what="Cut.")
    problem = Problem("weather.csv.gz", 3, "a gap", "at most 5 days")
    read = json.loads(plan([one], (STAGE,), (problem,)))
    assert (read["version"], read["today"], read["season"], read["until"]) == (
        *(2, "2027-03-01", 2027, "2028-12-31"),
    )
    assert read["texts"] == ["Prune after bloom", "Cut.", "Leave a leafy shoot on each branch"]
    assert read["tasks"] == [
        {
            "tree": "sats-01",
            "taxon": "satsuki-azalea",
            "rule": "prune-after-bloom",
            "season": 2027,
            "kind": "work",
            "way": "work",
            "loss": "nothing",
            "category": "pruning",
            "minutes": 30,
            "window": ["2027-05-19", None, None],
            "title": 0,
            "what": 1,
            "cautions": [2],
            "bench": "open",
            "days": [[1, "2027-05-22", None, 0.12, True, "open", None]],
        }
    ]
    assert read["stages"] == {
        "sats-01": [["first-flower", 2027, "2027-05-10", "2027-05-20", None, 0.97, "expected", "60"]]
    }
    assert read["stage_columns"] == list(STAGE_COLUMNS)
    assert read["problems"] == ["weather.csv.gz:3: a gap; at most 5 days"]


def test_a_repeated_thing_is_one_row_and_a_text_stands_once() -> None:
    times = [task(occurrence=n, on=f"2027-05-{n:02}", window=Window(1, 2, 3)) for n in (1, 8, 15)]
    read = json.loads(plan([*times, task("sats-02", window=Window(1, 2, 3))]))
    assert [[row[:2] for row in one["days"]] for one in read["tasks"]] == [
        [[1, "2027-05-01"], [8, "2027-05-08"], [15, "2027-05-15"]],
        [[1, "2027-05-22"]],
    ]
    assert len(set(read["texts"])) == len(read["texts"]) == 3


def test_the_same_in_any_order() -> None:
    tasks = season_of_tasks(4)
    other = replace(STAGE, tree="a")
    whole = plan(tasks, (STAGE, other), ("x", "b"))
    assert plan(tasks[::-1], (other, STAGE), ("b", "x", "b")) == whole


def test_an_empty_plan_is_whole() -> None:
    read = json.loads(plan([]))
    assert (read["tasks"], read["texts"], read["stages"], read["problems"]) == ([], [], {}, [])


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_comes_back_as_it_was(text: str) -> None:
    read = json.loads(plan([task(title=text)]))
    assert read["texts"][read["tasks"][0]["title"]] == text.replace("\ud800", "?")


def test_a_number_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        plan([], (replace(STAGE, reached=float("nan")),))


def test_what_is_read_back_is_what_the_plan_said(tmp_path: Path) -> None:
    water = [
        task("sats-01", "water", f"2027-03-{n:02}", way="walk", occurrence=n, bench=bench)
        for n, bench in ((6, "open"), (13, "open"), (20, "shed"))
    ]
    look = task("sats-01", "first-flower", "2027-05-10", kind="look", way="walk")
    tasks = [
        *season_of_tasks(2),
        *water,
        look,
        task(occurrence=2, on="2027-06-20", move=Move(day("2027-06-01"), NotDoneBy(day("2027-06-01")))),
    ]
    (tmp_path / "plan.json").write_bytes(plan(tasks, (STAGE,)))
    read, told = read_previous(tmp_path)
    assert told == []
    made = previous_plan(tasks, (STAGE,), TODAY)
    assert read.today == made.today
    for tree in ("sats-01", "sats-02"):
        assert read.of(tree).tasks == made.of(tree).tasks
        assert read.of(tree).stages == made.of(tree).stages


OLD = """{"today": "2027-03-01", "season": 2027, "until": "2028-12-31", "tasks": [
{"id": "x", "key": "sats-01/repot/2027/1/work", "tree": "sats-01", "rule": "repot", "season": 2027,
 "occurrence": 1, "title": "Repot", "what": "", "date": "2027-03-20",
 "window": {"opens": "2027-03-15", "likely": null, "closes": null}, "chance": 0.9, "minutes": 30,
 "cautions": [], "why": [], "moved": "", "kind": "work", "firm": true}],
"stages": [{"tree": "sats-01", "stage": "first-flower", "season": 2027, "p50": "2027-05-20"}],
"problems": []}"""


def test_a_plan_of_the_first_version_is_read_too(tmp_path: Path) -> None:
    (tmp_path / "plan.json").write_text(OLD)
    read, told = read_previous(tmp_path)
    assert told == []
    (one,) = read.of("sats-01").tasks.items()
    assert (one[0], one[1].day, one[1].opens) == ("repot/2027/1/work", day("2027-03-20"), day("2027-03-15"))
    assert read.of("sats-01").stages == {("first-flower", 2027): day("2027-05-20")}
