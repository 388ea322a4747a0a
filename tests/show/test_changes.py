"""What a re-plan changed: each tree is told what its own taxon's pack says; lines are whole on a page."""

from dataclasses import replace
from datetime import date
from typing import Any

from small_world import PLAIN, collection, day, pack_text, rule, smooth_record
from small_world import rulebook as small_rules

from care_planner.outlook.replay.calendars import remembered
from care_planner.plan import Plan, make_plan
from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.serve.changes import groups_of_changes
from care_planner.serve.planner import Changed
from care_planner.show.changes import change_groups, change_lines
from care_planner.tasks.fate import Fate
from care_planner.tasks.model import Task, Window
from care_planner.tasks.questions import Question
from care_planner.years.move import ClearlyBetter, Move
from care_planner.years.previous import PreviousPlan, PreviousTask, PreviousTree
from care_planner.years.reasons import NoNote

MARCH, APRIL = date(2027, 3, 20).toordinal(), date(2027, 4, 20).toordinal()
TAXA = {"azalea": "satsuki-azalea", "maple": "japanese-maple", "pine": "japanese-black-pine"}


def rulebook() -> Rulebook:
    read, problems = read_rulebook(None, set(TAXA.values()))
    assert not problems
    return read


def missed_everywhere(rule: str, title: str) -> tuple[PreviousPlan, Plan]:
    """The same work of every tree was due in March, and in April no note says that it was done."""
    task = PreviousTask(MARCH, title, rule, "work", 2027, MARCH - 5, MARCH + 5)
    before = PreviousPlan(
        MARCH, {tree: PreviousTree({f"{rule}/2027/1/work": task}, {}, MARCH) for tree in TAXA}
    )
    fates: dict[str, Any] = {
        tree: {(rule, 2027): Fate("past", NoNote(MARCH - 5, MARCH + 5))} for tree in TAXA
    }
    return before, Plan(APRIL, 2027, APRIL + 600, (), (), (), (), fates, TAXA)


def test_what_was_missed_is_said_by_each_tree_s_own_pack() -> None:
    before, plan = missed_everywhere("repot", "Repot")
    (group,) = change_groups(before, plan, rulebook())
    for tree, taxon in TAXA.items():
        own = rulebook().taxa[taxon].rules["repot"].missed
        (line,) = (line for line in group.lines if tree in line.split(":")[0].split(", "))
        assert line.endswith(own if own else "no note says that it was done"), line
    assert len({rulebook().taxa[taxon].rules["repot"].missed for taxon in TAXA.values()}) > 1


def test_a_page_has_the_lines_of_the_terminal_unbroken() -> None:
    before, plan = missed_everywhere("repot", "Repot, right after bloom, and " + "long-winded-" * 9 + "name")
    groups = groups_of_changes([Changed(2, before, plan)], 1, set(TAXA), rulebook())
    assert groups == list(change_groups(before, plan, rulebook()))
    wrapped = list(change_lines(before, plan, rulebook()))
    assert max(map(len, wrapped)) <= 80 and any("long-winded-name" in line for line in groups[0].lines)
    assert groups_of_changes([Changed(2, before, plan)], 2, set(TAXA), rulebook()) == []


def moved_to(day: int, tree: str) -> tuple[PreviousTask, Task]:
    """Work of a tree laid two weeks later, as it was published and as it is now."""
    before = PreviousTask(day - 14, "Move into shelter", "shelter", "work", 2027, day - 20, day)
    now = Task(
        tree=tree,
        taxon=TAXA[tree],
        rule="shelter",
        season=2027,
        occurrence=1,
        kind="work",
        title="Move into shelter",
        day=day,
        window=Window(day - 20, day, day + 5),
        chance=0.9,
        minutes=10,
        loss="tree",
        reasons=(),
        bench="open",
        category="shelter",
        move=Move(day - 14, ClearlyBetter()),
    )
    return before, now


def test_what_was_missed_comes_before_moves_and_moves_of_far_works_are_only_counted() -> None:
    before, plan = missed_everywhere("repot", "Repot")
    near, far = moved_to(APRIL + 30, "azalea"), moved_to(APRIL + 200, "pine")
    for tree, (old, _) in (("azalea", near), ("pine", far)):
        before.trees[tree].tasks["shelter/2027/1/work"] = old  # type: ignore[index]
    plan = replace(plan, tasks=[near[1], far[1]])
    told = list(change_lines(before, plan, rulebook()))
    known = told[told.index("What you must know") + 1 : told.index("Other changes (--all names them)") - 1]
    text = " ".join(" ".join(known).split())
    assert text.index("Repot, due 20 Mar") < text.index("azalea: Move into shelter to 20 May")
    assert "Nov" not in text and told[-1].strip() == "1 moved"


def test_what_is_asked_is_not_said_again() -> None:
    before, plan = missed_everywhere("repot", "Repot")
    asked = Question(APRIL, "repot", 2027, "Repot", "Was it repotted?", ("azalea", "maple"), APRIL)
    told = " ".join(change_lines(before, replace(plan, questions=(asked,)), rulebook(), True))
    assert "pine: Repot, due 20 Mar" in told and "azalea" not in told and "maple" not in told


def test_a_tree_noted_as_dead_is_told_once_and_nothing_is_asked_of_it() -> None:
    """On the very day of the note; the plan of the next day tells it no more."""
    told = []
    rules = small_rules(
        pack_text(PLAIN, rule("cut", "opens: {month_day: '05-10'}\ncloses: {month_day: '06-20'}"))
    )
    alive = make_plan(collection({}, {}), [], smooth_record(), rules, day("2013-05-19"))
    before = remembered(alive)
    for today in ("2013-05-20", "2013-05-21"):
        trees = collection({}, {"until": {"date": "2013-05-20", "why": "dead"}})
        plan = make_plan(trees, [], smooth_record(), rules, day(today), before)
        assert not any("tree-2" in (task.tree, *plan.fates) for task in plan.tasks)
        assert not any("tree-2" in notice.trees for notice in plan.notices)
        told.append(" ".join(change_lines(before, plan, rules)))
        before = remembered(plan)
    assert "tree-2: dead on 20 May" in told[0] and "tree-2" not in told[1]
