"""The first screen of a plan: today before the weekend, and what most works hang on before the rest."""

from datetime import date
from typing import Any

from small_world import PLAIN, collection, pack_text, rule, rulebook, smooth_record

from care_planner.plan import Plan, make_plan
from care_planner.show.plan import plan_lines
from care_planner.tasks.agenda import agenda

MONDAY = date(2013, 4, 8).toordinal()
CLOSES = "opens: {month_day: '03-20'}\ncloses: {month_day: '04-08'}\nchoose: late"
WEEKEND = "opens: {month_day: '04-13'}\ncloses: {month_day: '04-14'}"
WEDNESDAY = "opens: {month_day: '04-10'}\ncloses: {month_day: '04-10'}"
WATCH = "way: watch\nopens: {month_day: '03-01'}\ncloses: {month_day: '06-09'}"
RULES = pack_text(
    PLAIN,
    rule("candles", CLOSES),
    rule("prune", WEEKEND),
    rule("tie", WEDNESDAY),
    rule("water", WATCH),
    rule("unwire", f"loss: looks\nonly: {{wired: [yes]}}\n{WEEKEND}"),
    rule("cut", f"loss: flowers\nonly: {{refined: [yes]}}\n{WEEKEND}"),
    rule("trim", f"loss: looks\nonly: {{refined: [yes]}}\n{WEEKEND}"),
)


def told(*trees: dict[str, Any], **people: Any) -> list[str]:
    plan, kept = planned(*trees, **people)
    return list(plan_lines(plan, kept, False))


def planned(*trees: dict[str, Any], **people: Any) -> tuple[Plan, Any]:
    kept = collection(*(trees or ({},)), people=people or {"days": ["sat", "sun"]})
    return make_plan(kept, [], smooth_record(), rulebook(RULES), MONDAY), kept


def test_on_a_monday_what_closes_today_stands_above_the_weekend() -> None:
    lines = told()
    places = [lines.index(head) for head in ("Today", "Before the weekend", "This weekend")]
    assert places == sorted(places)
    whole = "\n".join(lines)
    today, before, weekend = (whole.index(work) for work in ("Candles: ", "Tie: ", "Prune: "))
    assert whole.index("Today") < today < before < whole.index("This weekend") < weekend
    assert all(whole.count(work) == 1 for work in ("Candles: ", "Tie: ", "Prune: "))


def test_a_weekend_without_work_says_so_and_other_days_are_named_as_they_are() -> None:
    assert "Your next days" in told(days=["wed"])
    lines = told(days=["sat", "sun"], away=[{"from": "2013-04-14", "to": "2013-04-14"}])
    assert "This weekend" in lines


def test_watches_of_all_trees_name_none() -> None:
    assert any(line.endswith("goes on: Water: all trees") for line in told(*[{}] * 4))
    assert any(line.endswith("goes on: Water: tree-1, tree-2") for line in told(*[{}] * 2))


def test_what_most_works_hang_on_is_asked_first() -> None:
    lines = told({}, {}, {"refined": True})
    asked = lines[lines.index("To know and to decide") :]
    refined, wired = (
        next(i for i, line in enumerate(asked) if fact in line) for fact in ("refined", "wired")
    )
    assert refined < wired  # two trees with a year of flowers, against three with looks
    text = " ".join(" ".join(asked).split())
    assert "it decides: cut, trim" in text and text.count("refined is not known") == 1


def test_a_watch_begins_and_ends_on_days_on_which_somebody_is_there() -> None:
    away = [{"from": "2013-04-08", "to": "2013-04-20"}, {"from": "2013-06-03", "to": "2013-06-20"}]
    later = WATCH.replace("03-01", "04-20")
    kept = collection({}, people={"days": ["sun"], "away": away})
    plan = make_plan(kept, [], smooth_record(), rulebook(pack_text(PLAIN, rule("water", later))), MONDAY - 6)
    first = agenda(plan.tasks, kept.people.walk_day).watches[0]
    assert first.first == date(2013, 4, 7).toordinal()  # the Sunday before they leave
    assert first.last == date(2013, 6, 23).toordinal()  # the Sunday after they are back
