"""What the notes of all trees teach of their paces, before any of them is planned."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from care_planner.journal.model import Entry
from care_planner.learning.learn import NO_NOTES, Learnt, learn
from care_planner.learning.notes import Note, TreeNotes, notes_of
from care_planner.learning.pace_belief import NOTHING_LEARNT, PaceBelief
from care_planner.learning.past import PastWeather, Track
from care_planner.rulebook.moment import Moment
from care_planner.rulebook.pack import Rulebook, TaxonRules
from care_planner.stages.history import History
from care_planner.stages.members import quantile
from care_planner.stages.moments import BLOOM, evaluate
from care_planner.stages.noted import history_of
from care_planner.years.state import Shared, TreeYears
from care_planner.years.tree_facts import TreeFacts

Noted = tuple[str, TreeFacts, tuple[Entry, ...]]  # a tree's id, its facts, its entries up to today
_STEPS = range(-1, 3)  # the seasons that paces are learnt for


@dataclass(frozen=True, eq=False)
class KeptLessons:
    """What need not be read or learnt again: notes by tree, and by taxon what the very same notes taught."""

    notes: dict[Noted, tuple[Note, ...]] = field(default_factory=dict)
    learnt: dict[str, tuple[list[Note], Learnt]] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Lessons:
    """What is believed of every tree's pace, by taxon; `of` gives the belief of one tree."""

    by_taxon: Mapping[str, Learnt] = field(default_factory=dict)

    def of(self, tree: str, facts: TreeFacts) -> PaceBelief:
        """The belief of one tree; the taxon's own numbers where the grower wants no learning."""
        if not facts.learns:
            return NOTHING_LEARNT
        return self.by_taxon.get(facts.taxon, NO_NOTES).belief(tree)


NO_LESSONS = Lessons()


def lessons(
    trees: Iterable[Noted], rulebook: Rulebook, shared: Shared, past: PastWeather, kept: KeptLessons
) -> Lessons:
    """Learn from all trees. What is in `kept` is taken from there, and what is new put there."""
    by_taxon: defaultdict[str, list[Note]] = defaultdict(list)
    for noted in trees:
        _, facts, _ = noted
        if not facts.learns or not speaks_of_pace(noted):
            continue
        if noted not in kept.notes:
            kept.notes[noted] = tuple(read_notes(noted, rulebook.taxa[facts.taxon], shared, past))
        by_taxon[facts.taxon] += kept.notes[noted]
    seasons = [shared.frame.season + step for step in _STEPS]
    for taxon, notes in by_taxon.items():
        if taxon not in kept.learnt or kept.learnt[taxon][0] != notes:
            kept.learnt[taxon] = (notes, _learn(notes, rulebook.taxa[taxon], seasons))
    return Lessons({taxon: kept.learnt[taxon][1] for taxon in by_taxon})


def speaks_of_pace(noted: Noted) -> bool:
    """Whether anything in a tree's notes could be learnt from."""
    _, facts, entries = noted
    return bool(facts.remembered) or any(entry.saw is not None and entry.learn for entry in entries)


def read_notes(noted: Noted, rules: TaxonRules, shared: Shared, past: PastWeather) -> list[Note]:
    """Every note of a tree that speaks of its pace, where the season's weather is known."""
    return notes_of(tree_notes(noted, rules, shared), rules, past)


def tree_notes(noted: Noted, rules: TaxonRules, shared: Shared) -> TreeNotes:
    """A tree as learning sees it: entries that are not to be learnt from are left out."""
    tree, facts, entries = noted
    told = [entry for entry in entries if entry.learn or entry.saw is None]
    repotted = facts.last_repot if (facts.last_repot or 0) <= shared.today else None
    history = history_of(told, rules, shared.frame.south, repotted)
    history = replace(history, moves=tuple(sorted({*history.moves, *_moves_by_work(history, facts, rules)})))
    variety = rules.taxon.pace.of_variety(facts.season_of_variety)
    track = Track(facts.bench, _winter_moves(facts, rules, shared))
    return TreeNotes(tree, history, track, variety, dict(facts.remembered))


def _learn(notes: list[Note], rules: TaxonRules, seasons: list[int]) -> Learnt:
    return learn(notes, rules.taxon.pace, (*rules.stages, BLOOM), seasons)


def _moves_by_work(history: History, facts: TreeFacts, rules: TaxonRules) -> Iterator[tuple[int, str]]:
    """Moves that noted work made: into the shelter and out of it."""
    if facts.winter_bench is None:
        return
    for (id, _), days in history.works.items():
        for effect in rules.rules[id].effects:
            if effect.moves_to is not None:
                bench = facts.winter_bench if effect.moves_to == "winter-bench" else facts.bench
                yield from ((day, bench) for day in days)


def _winter_moves(facts: TreeFacts, rules: TaxonRules, shared: Shared) -> tuple[tuple[int, str], ...]:
    """Into the shelter and out of it in a winter of which nothing is noted: the median days of the rules
    that move it, after the season's midwinter."""
    if facts.winter_bench is None:
        return ()
    view = TreeYears(shared, rules, facts, History())
    midwinter = shared.frame.start_of(1)
    found = []
    for rule in rules.rules.values():
        for effect in rule.effects:
            goes_in = effect.moves_to == "winter-bench"
            moment = rule.closes if goes_in else rule.opens
            if effect.moves_to is None or not _is_of_weather(moment):
                continue
            day = quantile(evaluate(moment, 0 if goes_in else 1, view), 0.5)
            if np.isfinite(day):
                bench = facts.winter_bench if goes_in else facts.bench
                found.append((int(day) - midwinter, bench))
    return tuple(sorted(found))


def _is_of_weather(moment: Moment) -> bool:
    """Whether no stage, work or sign has a say in it."""
    asked = ("stage", "work", "sign", "last_cut", "share_open", "of")
    return all(getattr(part, kind) is None for part in moment.walk() for kind in asked)
