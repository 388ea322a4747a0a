import json
from dataclasses import replace

import pytest
from calendar_samples import HOSTILE, IDENTITY, day, season_of_tasks, task

from care_planner.calendar.feeds import task_uids
from care_planner.calendar.plan_json import plan_json
from care_planner.problems import Problem
from care_planner.tasks.model import Task, Window
from care_planner.tasks.stage_rows import StageRow

MAY_10, MAY_20 = day("2027-05-10"), day("2027-05-20")
STAGE = StageRow("first-flower", "60", 2027, MAY_10, MAY_20, None, 0.97, "expected", "sats-01")
STAGE_WRITTEN = {
    "tree": "sats-01",
    "stage": "first-flower",
    "bbch": "60",
    "season": 2027,
    "p10": "2027-05-10",
    "p50": "2027-05-20",
    "p90": None,
    "reached": 0.97,
    "basis": "expected",
}


def plan(tasks: list[Task], stages: tuple = (), problems: tuple = ()) -> bytes:
    uids = task_uids(IDENTITY, tasks)
    return plan_json(day("2027-03-01"), 2027, day("2028-12-31"), tasks, stages, problems, uids)


def test_keys_and_forms() -> None:
    one = task(window=Window(day("2027-05-19"), None, None), chance=0.123456)
    problem = Problem("weather.csv.gz", 3, "a gap", "at most 5 days")
    read = json.loads(plan([one], (STAGE,), (problem,)))
    assert list(read) == ["today", "season", "until", "tasks", "stages", "problems"]
    assert (read["today"], read["season"], read["until"]) == ("2027-03-01", 2027, "2028-12-31")
    assert read["tasks"] == [
        {
            "id": task_uids(IDENTITY, [one])[one.key],
            "key": "sats-01/prune-after-bloom/2027/1/work",
            "tree": "sats-01",
            "rule": "prune-after-bloom",
            "season": 2027,
            "occurrence": 1,
            "title": "Prune after bloom",
            "what": "",
            "date": "2027-05-22",
            "window": {"opens": "2027-05-19", "likely": None, "closes": None},
            "chance": 0.1235,
            "minutes": 30,
            "cautions": ["Leave a leafy shoot on each branch"],
            "why": ["End of bloom expected 20 May", "Common practice"],
            "moved": "",
            "move": None,
            "kind": "work",
            "firm": True,
        }
    ]
    assert read["stages"] == [STAGE_WRITTEN]
    assert read["problems"] == ["weather.csv.gz:3: a gap; at most 5 days"]


def test_sorted_by_day_and_the_same_in_any_order() -> None:
    tasks = season_of_tasks(4)
    other = replace(STAGE, tree="a")
    whole = plan(tasks, (STAGE, other), ("x", "b"))
    assert plan(tasks[::-1], (other, STAGE), ("b", "x", "b")) == whole
    read = json.loads(whole)
    assert [one["date"] for one in read["tasks"]] == sorted(one["date"] for one in read["tasks"])
    assert [one["tree"] for one in read["stages"]] == ["a", "sats-01"]


def test_one_line_an_entry() -> None:
    tasks = season_of_tasks(2)
    lines = plan(tasks, (STAGE,)).decode().splitlines()
    for one in tasks:
        (line,) = [line for line in lines if task_uids(IDENTITY, [one])[one.key] in line]
        assert json.loads(line.rstrip(","))["rule"] == one.rule


def test_an_empty_plan_is_whole() -> None:
    assert json.loads(plan([])) == {
        "today": "2027-03-01",
        "season": 2027,
        "until": "2028-12-31",
        "tasks": [],
        "stages": [],
        "problems": [],
    }


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_comes_back_as_it_was(text: str) -> None:
    (read,) = json.loads(plan([task(title=text)]))["tasks"]
    assert read["title"] == text.replace("\ud800", "?")


def test_a_number_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        plan([], (replace(STAGE, reached=float("nan")),))


def test_a_task_without_a_uid_is_a_fault() -> None:
    with pytest.raises(KeyError):
        plan_json(1, 1, 1, [task(tree="unknown")], (), (), {})
