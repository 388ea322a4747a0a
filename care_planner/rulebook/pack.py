"""A pack as written in one YAML file, and the rulebook that packs make together."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from care_planner.rulebook.effect import Effect
from care_planner.rulebook.forms import Forms
from care_planner.rulebook.moment import Moment
from care_planner.rulebook.rule import Rule
from care_planner.rulebook.scores import Scores
from care_planner.rulebook.taxon import Name, Stage, Taxon
from care_planner.typed_yaml.read_yaml import Strict


class Pack(Strict):
    """One file of rules. A pack with a `taxon` makes that taxon plannable; others are stood upon."""

    pack: Name
    title: str
    about: str
    stands_on: list[Name] = []
    signs: list[Name] = []
    # Other words for a stage, a sign or a work, as growers note them; titles and inflections need none.
    said_as: dict[Name, list[str]] = {}
    sources: dict[str, str] = {}
    taxon: Taxon | None = None
    forms: Forms | None = None
    stages: list[Stage] = []
    rules: list[Rule] = []
    scores: Scores | None = None


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
    said_as: Mapping[str, tuple[str, ...]] = field(
        default_factory=dict
    )  # id of a stage, sign or work: phrases
    scores: Scores | None = None  # None: nothing was measured

    @property
    def has_own_works(self) -> bool:
        """Whether there are works of its own, from its pack or the grower, beside those for any tree."""
        return any(one.pack == self.id or bool(one.changed_by) for one in self.origins.values())

    @cached_property
    def in_row(self) -> Mapping[str, tuple[tuple[str, float], ...]]:
        """For each stage, those that need less of the very same warmth, with the part of its sum they need.

        They come before it whatever the weather.
        """
        sums = {id: stage.reached for id, stage in self.stages.items() if stage.reached.warmth is not None}
        return {
            id: tuple(
                (other, before.warmth.sum / moment.warmth.sum)
                for other, before in sums.items()
                if moment.warmth and before.warmth and _less_of_the_same(before, moment)
            )
            for id, moment in sums.items()
        }

    @cached_property
    def heavy(self) -> tuple[str, ...]:
        """The heavy works, in the order in which they win."""
        return tuple(id for id, rule in self.rules.items() if rule.heavy)

    @cached_property
    def root_works(self) -> tuple[str, ...]:
        """The works on roots."""
        return tuple(id for id, rule in self.rules.items() if rule.kind == "roots")

    def told_with(self, rule: Rule) -> list[str]:
        """The works that are told together with one where they fall on its day."""
        if rule.together is None:
            return []
        return [id for id, other in self.rules.items() if other.together == rule.together and id != rule.id]

    @cached_property
    def blockers(self) -> Mapping[str, Sequence[Rule]]:
        """For each rule that is blocked by others, those."""
        found: defaultdict[str, list[Rule]] = defaultdict(list)
        for rule in self.rules.values():
            for id in dict.fromkeys(rule.blocks):
                found[id].append(rule)
        return found

    @cached_property
    def touching(self) -> Mapping[str, Sequence[tuple[str, Effect]]]:
        """For each stage that works may touch, the rules with the effects that do."""
        found: defaultdict[str, list[tuple[str, Effect]]] = defaultdict(list)
        for rule in self.rules.values():
            for effect in rule.all_effects():
                stages = set(effect.sets_back.stages) if effect.sets_back is not None else set()
                for stage in sorted(stages | ({effect.ends_stage} if effect.ends_stage else set())):
                    found[stage].append((rule.id, effect))
        return found

    def rules_noted_as(self, word: str) -> tuple[str, ...]:
        """Rule ids that a journal's `did: word` speaks of."""
        return tuple(id for id, rule in self.rules.items() if word == id or word in rule.noted_as)


def _less_of_the_same(a: Moment, b: Moment) -> bool:
    if a.warmth is None or b.warmth is None or a.warmth.sum >= b.warmth.sum or a.plus_days > b.plus_days:
        return False
    return (a.warmth.by, a.warmth.less_chill, a.since) == (b.warmth.by, b.warmth.less_chill, b.since)


class Node(NamedTuple):
    """One thing to resolve within a season; `step` counts seasons from the one being planned."""

    kind: str  # "stage", "rule" or "facts"
    id: str
    step: int


@dataclass(frozen=True, eq=False)
class Rulebook:
    """The rules in force, by taxon."""

    taxa: Mapping[str, TaxonRules]
    packs: tuple[str, ...]
