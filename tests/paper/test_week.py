"""A week on paper: whom the weather's orders are for, minutes as every view counts them; who is named."""

from dataclasses import replace
from datetime import date
from typing import Any

from small_world import PLAIN, collection, pack_text, rule, rulebook, smooth_record

from care_planner.plan import Plan, make_plan
from care_planner.show.paper.away import AwayFacts, AwayOrder, BenchWater, away_sheet
from care_planner.show.paper.week import week_sheet
from care_planner.tasks.agenda import agenda

MONDAY = date(2013, 5, 6).toordinal()
SPAN = "opens: {month_day: '04-01'}\ncloses: {month_day: '06-30'}"
AGAIN = "opens: {month_day: '05-06'}\ncloses: {month_day: '05-12'}"
RULES = pack_text(
    PLAIN,
    rule("water", f"way: watch\n{SPAN}", kind="water"),
    rule("stand-in-water", f"way: watch\nonly: {{wired: [yes]}}\n{SPAN}", kind="water"),
    rule("shade", f"way: watch\nonly: {{refined: [yes]}}\n{SPAN}", kind="light"),
    rule("look-under-leaves", f"way: walk\n{AGAIN}", kind="health"),
    rule("feed", f"way: walk\nloss: growth\nonly: {{refined: [yes]}}\n{AGAIN}", kind="feeding"),
)
TREES: tuple[dict[str, Any], ...] = (
    {"id": "a", "bench": "open", "refined": True, "wired": False},
    {"id": "b", "bench": "open", "refined": True, "wired": False},
    {"id": "c", "bench": "pocket", "refined": True, "wired": True},
    {"id": "d", "bench": "pocket", "refined": False, "wired": False},
)


def planned() -> tuple[Plan, Any]:
    trees = collection(*TREES, people={"days": ["sat"]})
    return make_plan(trees, [], smooth_record(), rulebook(RULES), MONDAY), trees


def test_what_the_weather_decides_names_its_trees() -> None:
    blocks = week_sheet(planned()[0].tasks, "x", MONDAY).blocks
    place = next(number for number, block in enumerate(blocks) if block.text == "As the weather turns")
    told = {row[0] for row in blocks[place + 1].rows}
    assert "Water. Do it. For: all trees." in told
    assert "Stand in water. Do it. For: c." in told
    assert "Shade. Do it. For: all of the open; c." in told


def test_the_walk_takes_the_minutes_that_every_view_counts() -> None:
    plan, trees = planned()
    (walk,) = agenda(plan.tasks, trees.people.walk_day).between(MONDAY, MONDAY + 7).walks
    sheet = week_sheet(plan.tasks, "x", MONDAY)
    rows = [row for block in sheet.blocks if block.kind == "ticks" for row in block.rows]
    assert rows and sum(int(row[3].split()[0]) for row in rows) == walk.minutes
    assert walk.minutes < sum(task.minutes for item in walk.items for task in item.tasks)
    assert sheet.blocks[0].text.startswith(f"A bench walk of {walk.minutes} min;")


def test_one_look_is_one_row_of_a_bench_whatever_it_is_worth_to_each_tree() -> None:
    tasks = [replace(task, loss="flowers") if task.tree == "b" else task for task in planned()[0].tasks]
    rows = [row for block in week_sheet(tasks, "x", MONDAY).blocks for row in block.rows]
    named = [(row[1], row[2]) for row in rows if len(row) == 4]
    assert ("Look under leaves", "a, b") in named and len(named) == len(set(named))


def test_whoever_waters_is_told_every_tree() -> None:
    many = tuple(f"tree-{number:02d}" for number in range(30))
    order = AwayOrder("Shade", "Put it in the shade.", many)
    water = (BenchWater("open", many, "daily"),)
    sheet = away_sheet(AwayFacts(1, 9, water, many, tuple((t, 1) for t in many), (order,), False), "x")
    told = " ".join(
        [*(block.text for block in sheet.blocks), *(c for b in sheet.blocks for r in b.rows for c in r)]
    )
    assert " more" not in told.replace("no more water", "") and told.count("tree-29") == 4
