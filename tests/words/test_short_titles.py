"""Titles on a phone, which cuts what is longer than 30 characters: those of all shipped packs."""

from dataclasses import replace
from datetime import date

import pytest

from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.rulebook.rule import Rule
from care_planner.tasks.agenda import Standing, Watch
from care_planner.tasks.model import Task, Window
from care_planner.tasks.rounds import Round
from care_planner.words.speaker import Speaker
from care_planner.words.titles import (
    SHORT_TITLE,
    question_title,
    round_title,
    standing_title,
    watch_title,
)

DAY = date(2027, 5, 22).toordinal()
TREE = "satsuki-1"  # as long as ids mostly are


@pytest.fixture(scope="module")
def rulebook() -> Rulebook:
    found, problems = read_rulebook()
    assert problems == []
    return found


def task(rule: Rule, title: str) -> Task:
    return Task(
        tree=TREE, taxon="t", rule=rule.id, season=2027, occurrence=1, kind="work", title=title, day=DAY,
        window=Window(DAY, DAY, DAY), chance=0.9, minutes=5, way=rule.way, loss=rule.loss, reasons=(),
        bench="b", category=rule.kind,
    )  # fmt: skip


def titles(rule: Rule) -> list[str]:
    """Every title that the calendar may give a rule, for one tree and for many."""
    found = []
    for name in (rule.title, *(case.title for case in rule.cases if case.title)):
        one = task(rule, name)
        many = tuple(replace(one, tree=f"satsuki-{n:03}") for n in range(120))
        if rule.way == "work":
            found += [round_title(Round(of), Speaker({})) for of in ((one,), many)]
        elif rule.way == "watch":
            found += [watch_title(Watch((one,), 1), ends) for ends in (False, True)]
        elif rule.way == "standing":
            found.append(standing_title(Standing((one,))))
        if rule.asks:
            found += [question_title(name, trees) for trees in ((TREE,), [TREE] * 120)]
    return found


def test_titles_of_all_packs_fit_a_phone(rulebook: Rulebook) -> None:
    rules = {(id, rule.id): rule for id, taxon in rulebook.taxa.items() for rule in taxon.rules.values()}
    long = {name: cut for name, rule in rules.items() if (cut := too_long(rule))}
    assert len(rules) > 200 and long == {}


def too_long(rule: Rule) -> list[str]:
    return [title for title in titles(rule) if len(title) > SHORT_TITLE]


def test_a_title_that_does_not_fit_is_found(rulebook: Rulebook) -> None:
    prune = rulebook.taxa["satsuki-azalea"].rules["prune-after-bloom"]
    long = prune.model_copy(update={"title": "Prune the whole tree after its bloom"})
    assert too_long(prune) == [] and len(too_long(long)) > 1


def test_what_follows_a_comma_gives_way() -> None:
    assert question_title("Disbud, rub the flower buds off", ("sats-1", "sats-2")) == "Done? Disbud: 2 trees"
    assert question_title("Repot", ("sats-1",)) == "Done? Repot: sats-1"
