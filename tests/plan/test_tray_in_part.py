"""A tray of which a part is noted as done: what is asked is the rest."""

from small_world import PLAIN, collection, day, notes, pack_text, rule, rulebook, smooth_record

from care_planner.outlook.replay.calendars import remembered
from care_planner.plan import make_plan
from care_planner.serve.asked_cards import asked_cards
from care_planner.show.changes import change_lines
from care_planner.show.questions import question_lines

WINDOW = "opens: {month_day: '03-10'}\ncloses: {month_day: '03-20'}\nasks: Was it repotted?"
RULES = rulebook(pack_text(PLAIN, rule("repot", WINDOW, kind="roots")))
HALF = notes({"date": "2013-03-15", "did": "repot", "count": 12})


def test_the_other_plants_are_asked_for() -> None:
    trees = collection({"count": 24})
    before = make_plan(trees, [], smooth_record(), RULES, day("2013-03-01"))
    plan = make_plan(trees, HALF, smooth_record(), RULES, day("2013-04-06"))
    rest = "tree-1: 12 of 24 are noted as done; were the other 12?"
    assert rest in " ".join(" ".join(question_lines(plan.questions, plan.part_done)).split())
    (card,) = asked_cards(plan.questions, {"tree-1"}, {}, plan.today, frozenset(), plan.part_done)
    assert rest in card.words
    assert "no note says" not in " ".join(change_lines(remembered(before), plan, RULES, True))
