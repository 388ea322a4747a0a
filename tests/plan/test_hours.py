"""A plan within the hours that people tell."""

from collections import Counter
from datetime import date
from typing import Any

from small_world import PLAIN, collection, pack_text, rule, rulebook, smooth_record

from care_planner.plan import Plan, make_plan
from care_planner.show.plan import plan_lines
from care_planner.tasks.agenda import agenda

TODAY = date(2013, 1, 7).toordinal()
CUT = "opens: {stage: flush}\ncloses: {stage: flush, plus_days: 28}\nchoose: early"
RULES = pack_text(PLAIN, rule("cut-back", CUT), rule("thin", CUT))
TREES = tuple({"size": "large"} for _ in range(4))


def planned(**people: Any) -> tuple[Plan, Any]:
    trees = collection(*TREES, people=people)
    return make_plan(trees, [], smooth_record(), rulebook(RULES), TODAY), trees


def minutes_by_day(plan: Plan) -> Counter[int]:
    found: Counter[int] = Counter()
    for task in plan.tasks:
        if not task.left:
            found[task.day] += task.minutes
    return found


def test_works_fit_the_hours_of_their_days() -> None:
    without, _ = planned(days=["sat"])
    assert max(minutes_by_day(without).values()) == 4 * 60
    plan, _ = planned(hours={"sat": 3})
    assert max(minutes_by_day(plan).values()) <= 3 * 60
    assert {date.fromordinal(day).weekday() for day in minutes_by_day(plan)} == {5}
    assert all(task.window.opens <= task.day <= task.window.closes for task in plan.tasks)
    assert not any(task.left for task in plan.tasks)


def test_what_finds_no_time_is_said_and_stands_in_the_walk_of_its_week() -> None:
    plan, trees = planned(hours={"sat": 1.5})
    left = [task for task in plan.tasks if task.left]
    assert left
    whole = agenda(plan.tasks, trees.people.walk_day)
    assert {task.key for one in whole.left for task in one.tasks} == {task.key for task in left}
    mondays = {walk.monday for walk in whole.walks}
    assert all(any(monday <= task.day < monday + 7 for monday in mondays) for task in left)
    told = " ".join(" ".join(plan_lines(plan, trees, False)).split())
    assert "weeks hold more work than your hours" in told or "week holds more work" in told
    assert f"{len(left)} works are left out" in told


def test_away_days_have_no_hours_and_two_people_have_both_their_hours() -> None:
    days = [{"from": "2013-03-01", "to": "2013-12-31"}]
    plan, _ = planned(anna={"hours": {"sat": 3}, "away": days}, ben={"hours": {"sun": 1.5}})
    first_year = [day for day in minutes_by_day(plan) if date.fromordinal(day).year == 2013]
    assert {date.fromordinal(day).weekday() for day in first_year} <= {6}
