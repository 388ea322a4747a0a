"""Late work, by the plans of two days."""

from datetime import timedelta
from pathlib import Path

from serving import clock, copy_of_the_example

from care_planner.serve.refresh import refresh
from care_planner.serve.scope import Scope
from care_planner.serve.work_cards import work_page


def test_work_without_a_note_is_late_the_day_after_and_not_before(tmp_path: Path) -> None:
    folder = copy_of_the_example(tmp_path / "trees")
    first = refresh(folder, clock)
    inputs = first.reading.inputs
    today = first.plan.today
    page = work_page(first.plan.tasks, inputs.collection, inputs.rulebook, Scope(), today)
    assert page.late == () and page.benches
    due = {
        (task.tree, task.rule)
        for task in first.plan.tasks
        if task.day == today and inputs.rulebook.taxa[task.taxon].rules[task.rule].repeat is None
    }
    later = refresh(folder, lambda zone: clock(zone) + timedelta(days=1))
    page = work_page(later.plan.tasks, inputs.collection, inputs.rulebook, Scope(), today + 1)
    late = {(tree.id, card.rule) for card in page.late for tree in card.trees if not card.is_look}
    assert late and late <= due
    assert all("not noted as done by 29 May" in card.moved for card in page.late)
    one = next(iter(late))
    of_one = work_page(later.plan.tasks, inputs.collection, inputs.rulebook, Scope("tree", one[0]), today + 1)
    assert of_one.late and all([tree.id for tree in card.trees] == [one[0]] for card in of_one.late)
