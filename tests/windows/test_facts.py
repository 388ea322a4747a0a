"""Whether a rule is for a tree: every verdict, also where a fact was not told."""

from typing import Any

import pytest
from small_world import PLAIN, pack_text, resolved, rule, rulebook

from care_planner.rulebook.condition import FACTS, Condition
from care_planner.windows.facts import YES, only, unless
from care_planner.windows.reason import FactNotTold
from care_planner.words.fates import why_not

HAVE: dict[str, str | frozenset[str]] = {
    "goal": "flowers",
    "age": "established",
    "condition": "strong",
    "refined": "not-told",
    "multicoloured": "no",
    "noted": frozenset({"leaf-galls"}),
}


def said(**facts: list[str]) -> Condition:
    return Condition.model_validate(facts)


@pytest.mark.parametrize(
    ("facts", "answer", "reason"),
    [
        ({}, "yes", ""),
        ({"goal": ["flowers"]}, "yes", ""),
        ({"goal": ["flowers", "vigour"], "age": ["established"]}, "yes", ""),
        ({"goal": ["vigour"]}, "no", "the goal is flowers; only for vigour"),
        ({"goal": ["vigour", "balanced"]}, "no", "the goal is flowers; only for vigour or balanced"),
        ({"refined": ["yes"]}, "ask", "whether it is refined is not known"),
        ({"refined": ["yes", "not-told"]}, "yes", ""),
        ({"multicoloured": ["yes", "not-told"]}, "no", "it flowers in one colour"),
        ({"noted": ["leaf-galls", "root-rot"]}, "yes", ""),
        ({"noted": ["root-rot"]}, "no", "only where root-rot was noted"),
        # A fact that says no decides, whatever else was not told.
        ({"age": ["young"], "refined": ["yes"]}, "no", "the age is established; only for young"),
        ({"refined": ["yes"], "noted": ["root-rot"]}, "no", "only where root-rot was noted"),
    ],
)
def test_only(facts: dict[str, Any], answer: str, reason: str) -> None:
    verdict = only(said(**facts), HAVE)
    assert (verdict.answer, why_not(verdict.reason)) == (answer, reason)
    assert (verdict.fact == "refined") == (answer == "ask")


@pytest.mark.parametrize(
    ("facts", "answer", "reason"),
    [
        ({"goal": ["flowers"]}, "no", "not where the goal is flowers"),
        ({"goal": ["vigour"]}, "yes", ""),
        ({"goal": ["flowers"], "age": ["young"]}, "yes", ""),  # blocks only where all of it is met
        (
            {"goal": ["flowers"], "age": ["established"]},
            "no",
            "not where the goal is flowers and the age is established",
        ),
        ({"noted": ["leaf-galls"]}, "no", "not where leaf-galls was noted"),
        ({"noted": ["root-rot"]}, "yes", ""),
        ({"refined": ["yes"]}, "ask", "whether it is refined is not known"),
        # Whether refined or not: the goal alone already keeps the block from being met.
        ({"goal": ["vigour"], "refined": ["yes"]}, "yes", ""),
    ],
)
def test_unless(facts: dict[str, Any], answer: str, reason: str) -> None:
    verdict = unless(said(**facts), HAVE)
    assert (verdict.answer, why_not(verdict.reason)) == (answer, reason)


def test_one_table_of_facts() -> None:
    assert set(FACTS) == set(Condition.model_fields)
    for name, fact in FACTS.items():
        assert fact.words and why_not(FactNotTold(name)).endswith(" is not known")


def test_a_tree_has_a_value_for_every_fact() -> None:
    body = "opens: {month_day: '05-01'}\ncloses: {month_day: '05-20'}\n"
    years = resolved(rulebook(pack_text(PLAIN, rule("prune", body))))
    assert set(years.all_facts(0)) == set(FACTS)


def test_nothing_asked_is_yes() -> None:
    assert only(Condition(), {}) is YES
