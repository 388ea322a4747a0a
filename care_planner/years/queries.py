"""What may be asked of the years of a tree; each answer is something that two trees have in common or not.

`witness.py` notes the questions; trees that answer them alike share what was made.
"""

from collections.abc import Hashable, Mapping
from typing import Any

from care_planner.rulebook.pack import Node
from care_planner.stages.moments import NightLimit
from care_planner.years.state import TreeYears


def stage(years: TreeYears, id: str, step: int) -> Hashable:
    return years.mark_of(id, step)


def pace(years: TreeYears, stage: str, step: int) -> Hashable:
    return years.pace_mark(stage, step)


def weather(years: TreeYears, step: int) -> Hashable:
    return years.way_of(step)


def outcome(years: TreeYears, key: tuple[str, int]) -> Hashable:
    outcome = years.outcomes.get(key)
    return None if outcome is None else outcome.told


def fact(years: TreeYears, step: int, fact: str) -> Hashable:
    return years.all_facts(step)[fact]


def season_fact(years: TreeYears, key: tuple[str, int]) -> Hashable:
    return years.facts.get(key)


def last_cut(years: TreeYears, step: int) -> Hashable:
    return years.last_cut_day(step)


def effects_on_stages(years: TreeYears, step: int) -> Hashable:
    return tuple((outcome.told, id(effect)) for outcome, effect in years.effects_on_stages(step))


def into_shelter(years: TreeYears, step: int) -> Hashable:
    return tuple(outcome.told for outcome in years.into_shelter(step))


def home(years: TreeYears) -> Hashable:
    return years.shared.feels_as[years.tree.bench]


def night_limit(years: TreeYears, at_most_c: NightLimit, step: int) -> Hashable:
    return years.night_limit_c(at_most_c, step)


def first_night(years: TreeYears, at_most_c: NightLimit, step: int) -> Hashable:
    return years.first_night_mark(at_most_c, step)


def last_night(years: TreeYears, at_most_c: NightLimit, step: int) -> Hashable:
    return years.last_night_mark(at_most_c, step)


def bench(years: TreeYears, day: int) -> Hashable:
    return years.bench_at(day)


def given(years: TreeYears, rule: str, season: int) -> Hashable:
    return years.given(rule, season)


def published(years: TreeYears, rule: str, season: int) -> Hashable:
    return tuple(sorted(years.published(rule, season).items()))


def load(years: TreeYears, first: int, end: int) -> Hashable:
    return years.load[first:end].tobytes()


def laid(years: TreeYears, part: str) -> Hashable:
    return years.laid.get(part)


def tree(years: TreeYears, fact: str) -> Hashable:
    held: Hashable = getattr(years.tree, fact)
    return held


def belief(years: TreeYears, stage: str, season: int) -> Hashable:
    return years.belief.of(stage, season, years.rules.taxon.pace)


def was(years: TreeYears, field: str, key: Any) -> Hashable:
    return _in(getattr(years.previous, field), key)


def made_on(years: TreeYears) -> Hashable:
    return years.previous.made_on


def noted(years: TreeYears, field: str, key: Any) -> Hashable:
    return _in(getattr(years.history, field), key)


def all_noted(years: TreeYears, field: str) -> Hashable:
    held: Hashable = getattr(years.history, field)
    return tuple(held.items()) if isinstance(held, Mapping) else held


def _in(held: Any, key: Any) -> Hashable:
    return key in held if isinstance(held, frozenset) else held.get(key)


# Questions whose answers are followed from tree to tree: of what was told, and of a stage, a work or a fact.
TOLD = tree, noted, all_noted, was, made_on, published, laid, belief, pace
FOLLOWED = frozenset({*TOLD, stage, outcome, season_fact})


def question(node: Node) -> tuple[Any, ...]:
    """What is asked of a stage, a work or a fact."""
    if node.kind == "stage":
        return stage, node.id, node.step
    return (outcome if node.kind == "rule" else season_fact), (node.id, node.step)
