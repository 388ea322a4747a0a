"""Works of the plan name the branches: to tag, to leave, to take cuttings of; and who is given away."""

from datetime import date
from pathlib import Path

import pytest
from test_commands import COLLECTION, JOURNAL

from care_planner.colours.cautions import PASSPORT, with_colours
from care_planner.folder.read_folder import Inputs, read_folder
from care_planner.plan import Plan, make_plan
from care_planner.words.notices import notice_lines

TODAY = date(2026, 5, 1)
# Without the odd white flower on a cutting of the dark branch, and with the light branch seen once more.
USUAL = JOURNAL.replace("plant: 2, flowers: {white: 4}", "plant: 2, flowers: {solid: 2}") + (
    "- {date: 2025-05-28, tree: t, branch: left-1, flowers: {white ground: 9}}\n"
)
FACTS = (
    "goal: balanced, age: established, condition: strong, multicoloured: yes, last_repot: {date: 2025-03-20}"
)


def read(folder: Path, journal: str = USUAL) -> Inputs:
    facts = FACTS.replace(", ", "\n    ")
    text = COLLECTION.replace("    variety:", f"    {facts}\n    variety:")
    (folder / "collection.yaml").write_text(text, encoding="utf-8")
    (folder / "journal").mkdir(exist_ok=True)
    (folder / "journal" / "notes.yaml").write_text(journal, encoding="utf-8")
    return read_folder(folder, date(2026, 7, 1))


def planned(inputs: Inputs, today: date = TODAY) -> tuple[Plan, Plan]:
    plain = make_plan(inputs.collection, inputs.entries, inputs.record, inputs.rulebook, today.toordinal())
    return plain, with_colours(plain, inputs)


@pytest.fixture(scope="module")
def plans(tmp_path_factory: pytest.TempPathFactory) -> tuple[Plan, Plan]:
    return planned(read(tmp_path_factory.mktemp("yard")))


def said(plan: Plan, rule: str) -> list[str]:
    """What is said of the tree's branches in a work of this season."""
    (task,) = [t for t in plan.tasks if (t.rule, t.tree, t.season, t.kind) == (rule, "t", 2026, "work")]
    return [line for line in task.cautions if line.startswith("t: ")]


def test_tags_name_branches_and_batches(plans: tuple[Plan, Plan]) -> None:
    assert said(plans[1], "tag-colours") == [
        "t: tag top, left-1, right-1 (the least known first)",
        "t: look at the first flowers of batch c6 too: 4 not yet seen",
    ]


def test_pruning_lists_what_must_stay(plans: tuple[Plan, Plan]) -> None:
    pruning = [t for t in plans[1].tasks if t.category == "pruning" and t.tree == "t" and t.kind == "work"]
    assert pruning
    for task in pruning:
        assert "t: left-1 must stay, else white ground is lost for good" in task.cautions
        assert "t: not yet seen in flower, so not yet cut: top" in task.cautions


def test_cuttings_name_the_branch_and_the_number(plans: tuple[Plan, Plan]) -> None:
    (line,) = said(plans[1], "take-cuttings")
    assert line.endswith("of left-1 leave one plant that can give white ground")


def test_who_is_given_away_with_the_caution(plans: tuple[Plan, Plan]) -> None:
    assert f"t: after bloom give away c6 plant 1, c6 plant 2; {PASSPORT}" in notice_lines(plans[1].notices)


def test_no_day_moves_and_other_trees_are_as_they_were(plans: tuple[Plan, Plan]) -> None:
    plain, named = plans
    assert [(t.key, t.day) for t in named.tasks] == [(t.key, t.day) for t in plain.tasks]
    changed = {a.tree for a, b in zip(plain.tasks, named.tasks, strict=True) if a != b}
    assert changed == {"t"}


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
    assert named is plain


def test_notes_of_later_days_are_not_known_yet(tmp_path: Path) -> None:
    later = "- {date: 2026-05-28, tree: t, branch: top, flowers: {white ground: 20}}\n"
    inputs = read(tmp_path, USUAL + later)
    assert "t: not yet seen in flower, so not yet cut: top" in {
        c for t in planned(inputs)[1].tasks for c in t.cautions
    }
    _, after = planned(inputs, date(2026, 6, 1))
    assert not any("not yet seen in flower" in c for t in after.tasks for c in t.cautions)
