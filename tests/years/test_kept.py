"""Results found again by the answers to their questions, and plans that are the same with them as without."""

from collections.abc import Iterator
from typing import Any

import pytest

from care_planner.plan import Plan, make_plan
from care_planner.years import queries, resolve, witness
from care_planner.years.kept import MOST_KEPT, Kept
from tests.plan.planning import (
    MAPLE,
    SATSUKI,
    TODAY,
    as_published,
    collection,
    entries,
    made_record,
    rulebook,
)


def _colour(tree: dict[str, str]) -> str:
    return tree["colour"]


def _size(tree: dict[str, str], of: str) -> str:
    return tree[f"{of} size"]


def test_the_same_answers_find_the_same_result() -> None:
    kept: Kept[dict[str, str]] = Kept()
    kept.keep("pot", [((_colour, ()), "red"), ((_size, ("root",)), "large")], "a big pot")
    kept.keep("pot", [((_colour, ()), "white")], "any pot")
    red = {"colour": "red", "root size": "large"}
    found = kept.find("pot", red)
    assert found is not None and found.made == "a big pot"
    assert kept.find("pot", {**red, "root size": "small"}) is None
    white = kept.find("pot", {"colour": "white"})  # what red ones are asked further is not asked
    assert white is not None and white.made == "any pot"
    assert kept.find("soil", red) is None


def test_it_does_not_grow_for_ever() -> None:
    kept: Kept[dict[str, str]] = Kept()
    for number in range(MOST_KEPT + 1):
        kept.keep("pot", [((_colour, ()), str(number))], number)
    assert kept.find("pot", {"colour": "0"}) is None
    assert kept.find("pot", {"colour": str(MOST_KEPT)}) is not None


TREES: list[dict[str, Any]] = [
    {**SATSUKI, "id": "a"},
    {**SATSUKI, "id": "b", "goal": "vigour", "last_repot": {"date": "2024-03-20"}},
    {**SATSUKI, "id": "c", "frost_limit_c": "-1", "winter_bench": "shed"},
    {**SATSUKI, "id": "d", "frost_limit_c": "-1.4", "winter_bench": "shed", "size": "large"},
    {**SATSUKI, "id": "e", "condition": "weak", "bench": "pocket"},
    {**MAPLE, "id": "f", "last_repot": {"date": "2022-03-01"}},
    {**MAPLE, "id": "f2", "last_repot": {"date": "2025-03-01"}},
    {**MAPLE, "id": "g", "count": "7", "age": "young"},
]
NOTES = (
    {"date": "2027-04-28", "tree": "a", "saw": "first-flower"},
    {"date": "2027-04-03", "tree": "d", "did": "repot"},
    {"date": "2027-05-01", "tree": "e", "skipped": "prune-after-bloom"},
)
LATER = TODAY + 75


def _plans() -> Iterator[Plan]:
    """A first plan, and one that stands on it after some notes."""
    trees = collection(*TREES)
    first = make_plan(trees, [], made_record(), rulebook(), TODAY)
    yield first
    yield make_plan(trees, entries(*NOTES), made_record(), rulebook(), LATER, as_published(first))


def _said() -> list[object]:
    """Everything that those plans say."""
    return [
        (plan.tasks, plan.stages, plan.notices, plan.done, plan.questions, plan.fates) for plan in _plans()
    ]


def test_what_is_shared_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    shared = _said()
    with monkeypatch.context() as patch:
        patch.setattr(Kept, "find", lambda self, name, of: None)
        patch.setattr(witness, "as_before", lambda name, years: None)
        assert shared == _said()
    # A question that is not noted would be seen.
    with monkeypatch.context() as patch:
        patch.setattr(queries, "tree", lambda years, fact: None)
        patch.setattr(queries, "fact", lambda years, step, fact: None)
        assert shared != _said()
    # And so would a difference that is not followed from one tree to the next.
    with monkeypatch.context() as patch:
        patch.setattr(resolve, "compare", lambda name, node, years: None)
        assert shared != _said()
