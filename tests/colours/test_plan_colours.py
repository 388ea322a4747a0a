"""Works of the plan name the branches: to tag, to leave, to take cuttings of; and who is given away."""

from datetime import date
from pathlib import Path

import pytest
from test_commands import COLLECTION, JOURNAL

from care_planner.colours.cautions import PASSPORT
from care_planner.folder.read_folder import Inputs, read_folder
from care_planner.plan import Plan, make_plan, plan_with_colours
from care_planner.words.notices import notice_lines

TODAY = date(2026, 5, 1)
# Without the odd white flower on a cutting of the dark branch, and with the light branch seen four times.
USUAL = JOURNAL.replace("plant: 2, flowers: {white: 4}", "plant: 2, flowers: {solid: 2}") + (
    "- {date: 2025-05-28, tree: t, branch: left-1, flowers: {white ground: 9}}\n"
    "- {date: 2023-05-28, tree: t, branch: left-1, flowers: {white ground: 9}}\n"
    "- {date: 2022-05-28, tree: t, branch: left-1, flowers: {white ground: 9}}\n"
)
FACTS = (
    "goal: vigour, age: established, condition: strong, multicoloured: yes, last_repot: {date: 2025-03-20}"
)


def read(folder: Path, journal: str = USUAL) -> Inputs:
    facts = FACTS.replace(", ", "\n    ")
    text = COLLECTION.replace("    variety:", f"    {facts}\n    variety:")
    (folder / "collection.yaml").write_text(text, encoding="utf-8")
    (folder / "journal").mkdir(exist_ok=True)
    (folder / "journal" / "notes.yaml").write_text(journal, encoding="utf-8")
    return read_folder(folder, date(2026, 7, 1))


def planned(inputs: Inputs, today: date = TODAY) -> tuple[Plan, Plan]:
    parts = (inputs.collection, inputs.entries, inputs.record, inputs.rulebook, today.toordinal())
    return make_plan(*parts), plan_with_colours(*parts)


@pytest.fixture(scope="module")
def plans(tmp_path_factory: pytest.TempPathFactory) -> tuple[Plan, Plan]:
    return planned(read(tmp_path_factory.mktemp("yard")))


def said(plan: Plan, rule: str) -> list[str]:
    """What is said of the tree's branches in a work of this season."""
    (task,) = [t for t in plan.tasks if (t.rule, t.tree, t.season, t.kind) == (rule, "t", 2026, "work")]
    return [line for line in task.cautions if line.startswith("t: ")]


def test_tags_name_branches(plans: tuple[Plan, Plan]) -> None:
    assert said(plans[1], "tag-colours") == ["t: tag top, left-1, right-1 (the least known first)"]


def test_pruning_lists_what_must_stay(plans: tuple[Plan, Plan]) -> None:
    named = {"prune-after-bloom", "prune-without-bloom", "hard-cut-back", "shoots-to-two"}
    pruning = [t for t in plans[1].tasks if t.rule in named and t.tree == "t" and t.kind == "work"]
    assert pruning
    for task in pruning:
        assert "t: left-1 must stay, else white ground is lost for good" in task.cautions
        assert "t: not yet seen in flower, so not yet cut: top" in task.cautions


def test_cuttings_name_the_branch_and_the_number(plans: tuple[Plan, Plan], tmp_path: Path) -> None:
    (before,) = said(plans[1], "take-cuttings")
    assert before == (
        "t: no branch surely keeps white ground: first look at left-1 in bloom, tagged shoot by shoot"
    )
    seen = USUAL + "- {date: 2026-05-28, tree: t, branch: left-1, flowers: {white ground: 9}}\n"
    (line,) = said(planned(read(tmp_path, seen), date(2026, 6, 10))[1], "take-cuttings")
    assert line == "t: 4 of left-1 leave one plant that can give white ground"


def test_young_plants_have_works_with_days_of_their_own(plans: tuple[Plan, Plan]) -> None:
    plan = plans[1]
    assert said(plan, "first-flowers-look") == ["t: batch c6 of right-1: 4 not yet seen in flower"]
    assert said(plan, "give-away-young-plants") == ["t: c6 plant 1, c6 plant 2"]
    days = {task.rule: task.day for task in plan.tasks if task.tree == "t" and task.season == 2026}
    assert days["first-flowers-look"] < days["give-away-young-plants"]
    (given,) = [t for t in plan.tasks if t.rule == "give-away-young-plants"]
    assert any("plant passport" in caution for caution in given.cautions)
    # Nothing of it without the ledger, on other trees or in the next season.
    young = {"first-flowers-look", "give-away-young-plants"}
    assert not [t for t in plans[0].tasks if t.rule in young]
    assert {(t.tree, t.season) for t in plan.tasks if t.rule in young} == {("t", 2026)}


def test_given_away_is_told_where_the_tree_does_not_bloom(tmp_path: Path) -> None:
    inputs = read(tmp_path, USUAL + "- {date: 2025-10-01, tree: t, did: rub-buds-off}\n")
    _, plan = planned(inputs)
    assert not [t for t in plan.tasks if t.rule == "give-away-young-plants"]
    assert f"t: give away c6 plant 1, c6 plant 2; {PASSPORT}" in notice_lines(plan.notices)


def test_other_trees_are_as_they_were_and_the_trees_own_work_makes_room(plans: tuple[Plan, Plan]) -> None:
    """Work on young plants fills a day, so the tree's other work may go to the day beside it, no further."""
    plain, named = plans
    before = {t.key: t for t in plain.tasks}
    after = {t.key: t for t in named.tasks}
    young = set(after) - set(before)
    assert all("first-flowers" in key or "give-away" in key for key in young)
    assert set(before) <= set(after)
    moved = {key: after[key].day - before[key].day for key in before if after[key].day != before[key].day}
    assert len(moved) <= 2 and all(abs(days) == 1 for days in moved.values()), moved
    assert {before[key].tree for key in before if before[key] != after[key]} == {"t"}


def test_without_notes_the_plan_is_the_very_same(tmp_path: Path) -> None:
    inputs = read(tmp_path, "")
    bare = inputs.collection.model_copy(
        update={
            "trees": tuple(
                t.model_copy(update={"branches": (), "cuttings": ()}) for t in inputs.collection.trees
            )
        }
    )
    plain, named = planned(Inputs(bare, [], inputs.record, inputs.rulebook, []))
    assert (named.tasks, named.notices) == (plain.tasks, plain.notices)


def test_notes_of_later_days_are_not_known_yet(tmp_path: Path) -> None:
    later = "- {date: 2026-05-28, tree: t, branch: top, flowers: {white ground: 20}}\n"
    inputs = read(tmp_path, USUAL + later)
    assert "t: not yet seen in flower, so not yet cut: top" in {
        c for t in planned(inputs)[1].tasks for c in t.cautions
    }
    _, after = planned(inputs, date(2026, 6, 1))
    assert not any("not yet cut" in c for t in after.tasks for c in t.cautions)
