"""Trees that died, were sold or were never seen in flower, and flowers noted on the tree as a whole."""

from datetime import date
from pathlib import Path

import pytest
from grown import branch, tree
from test_commands import DAY, flat, folder, run

from care_planner.colours.belief import believe
from care_planner.colours.decisions import must_stay
from care_planner.colours.rates import known
from care_planner.note.take import note
from care_planner.problems import ProblemsFound

__all__ = ["folder"]  # the fixture

UNTIL = (
    "a lost trunk is a lost tree; note it of the tree: TREE dead; or write under the tree in "
    "collection.yaml: until: {date: 2027-05-01, why: dead}; its notes stay as history"
)


def test_a_dead_trunk_is_told_where_to_note_it(folder: Path) -> None:
    with pytest.raises(ProblemsFound) as found:
        note(folder, ("t/trunk",), "dead", DAY, DAY, sure=False)
    assert str(found.value) == f"WHAT: {UNTIL}"
    assert not (folder / "journal" / "notes-2026.yaml").exists()


@pytest.mark.parametrize("tree", ["t", "pine"])
def test_a_dead_tree_is_noted_whatever_its_kind(folder: Path, tree: str) -> None:
    note(folder, (tree,), "dead", DAY, DAY, sure=False)
    assert f"tree: {tree}, left: dead" in (folder / "journal" / "notes-2026.yaml").read_text(encoding="utf-8")


def test_a_cut_without_a_branch_asks_which(folder: Path) -> None:
    with pytest.raises(ProblemsFound) as found:
        note(folder, ("t",), "cut", DAY, DAY, sure=False)
    assert str(found.value) == (
        "WHAT: 'cut' of which branch?; allowed: TREE/BRANCH cut; of the whole tree: pruned"
    )


def test_a_lost_trunk_in_the_journal_is_named_with_its_line(folder: Path) -> None:
    (folder / "journal" / "more.yaml").write_text(
        "- {date: 2024-05-28, tree: t, branch: trunk, lost: dead}\n", encoding="utf-8"
    )
    for command in ("check", "plan", "colours"):
        done = run(command, folder)
        assert done.exit_code == 2
        assert done.output.splitlines() == [f"journal/more.yaml:1: {UNTIL}"]


def test_a_tree_that_has_left_gets_no_advice(folder: Path) -> None:
    text = (folder / "collection.yaml").read_text(encoding="utf-8")
    left = text.replace("    variety:", "    until: {date: 2025-12-01, why: sold}\n    variety:")
    (folder / "collection.yaml").write_text(left, encoding="utf-8")
    assert flat(run("colours", folder, "t", "--today", "2026-05-01")) == (
        "t left on 2025-12-01 (sold): its notes stay as history"
    )
    for command in ("colours", "cuttings"):
        assert flat(run(command, folder, "--today", "2026-05-01")).startswith("No branches, flowers")
    assert "left-1" not in run("plan", folder, "--today", "2026-05-01").output
    assert "KEEP" in run("colours", folder, "t", "--today", "2025-06-01").output


def test_flowers_on_the_whole_tree_are_no_reserve_for_its_branches() -> None:
    white, solid = (12, 0, 0), (0, 0, 12)
    branches = (branch("a", 2025, {2026: white}), branch("b", 2025, {2026: solid}))
    rates = known(0.05, 0.003, mistakes=0.03)
    ((without,), _) = believe([tree("t", branch("trunk", 2024), *branches)], 3, 2026, rates)
    ((with_it,), _) = believe([tree("t", branch("trunk", 2024, {2026: white}), *branches)], 3, 2026, rates)
    for belief in (without, with_it):
        assert ("a",) in {keep.branches for keep in must_stay(belief)}


def test_a_tree_not_yet_seen_is_not_said_to_be_without_its_name(folder: Path) -> None:
    (folder / "journal" / "notes.yaml").write_text("[]\n", encoding="utf-8")
    text = flat(run("colours", folder, "t", "--today", "2026-05-01"))
    assert "t: not yet seen in flower" in text
    assert "variety: not yet seen in flower, so nothing is known of white ground, its lightest form" in text
    assert "should not carry" not in text


@pytest.mark.parametrize(("who", "named"), [("pine", "pine"), ("all", "all")])
def test_flowers_by_form_of_a_tree_without_forms_are_refused(folder: Path, who: str, named: str) -> None:
    with pytest.raises(ProblemsFound) as found:
        note(folder, (who,), "flowers white 3", DAY, date(2026, 5, 28), sure=False)
    assert str(found.value) == (
        f"WHAT: no forms of flower are known of {named}; allowed: flowers of trees whose pack has a ladder "
        "of forms; free text begins with: note"
    )
