"""A pack as written in one YAML file, and the rulebook that packs make together."""

from collections.abc import Mapping
from dataclasses import dataclass

from care_planner.read_yaml import Strict
from care_planner.rulebook.forms import Forms
from care_planner.rulebook.rule import Rule
from care_planner.rulebook.taxon import Name, Stage, Taxon


class Pack(Strict):
    """One file of rules. A pack with a `taxon` makes that taxon plannable; others are stood upon."""

    pack: Name
    title: str
    about: str
    stands_on: list[Name] = []
    signs: list[Name] = []
    sources: dict[str, str] = {}
    taxon: Taxon | None = None
    forms: Forms | None = None
    stages: list[Stage] = []
    rules: list[Rule] = []


class OwnPack(Strict):
    """The grower's own changes, laid over a pack: rules by id, key by key; new ones whole."""

    lays_over: Name
    title: str = "own rules"
    remove: list[Name] = []
    rules: list[dict[str, object]] = []


@dataclass(frozen=True, eq=False)
class Origin:
    """Where a rule comes from, for people: `pack` and the file it stands in."""

    pack: str
    file: str
    changed_by: str | None = None


@dataclass(frozen=True, eq=False)
class TaxonRules:
    """Everything that holds for one taxon: its own stages, and rules of all packs it stands on."""

    id: str
    title: str
    taxon: Taxon
    stages: Mapping[str, Stage]
    rules: Mapping[str, Rule]
    origins: Mapping[str, Origin]
    signs: frozenset[str]
    sources: Mapping[str, str]
    order: tuple["Node", ...]
    forms: Forms | None = None  # None: its flowers come in one form, or have none described

    def rules_noted_as(self, word: str) -> tuple[str, ...]:
        """Rule ids that a journal's `did: word` speaks of."""
        return tuple(id for id, rule in self.rules.items() if word == id or word in rule.noted_as)


@dataclass(frozen=True, order=True)
class Node:
    """One thing to resolve within a season; `step` counts seasons from the one being planned."""

    kind: str  # "stage", "rule" or "facts"
    id: str
    step: int


@dataclass(frozen=True, eq=False)
class Rulebook:
    """The rules in force, by taxon."""

    taxa: Mapping[str, TaxonRules]
    packs: tuple[str, ...]
