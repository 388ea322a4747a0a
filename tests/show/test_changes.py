"""What a re-plan changed: each tree is told what its own taxon's pack says; lines are whole on a page."""

from datetime import date
from typing import Any

from care_planner.plan import Plan
from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.serve.changes import groups_of_changes
from care_planner.serve.planner import Changed
from care_planner.show.changes import change_groups, change_lines
from care_planner.tasks.fate import Fate
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
