"""What decides the plan of one tree, and trees that differ in nothing but their names."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from typing import Any, NamedTuple

from care_planner.collection.model import Collection
from care_planner.collection.tree import Tree
from care_planner.journal.model import Entry
from care_planner.learning.pace_belief import NOTHING_LEARNT, PaceBelief
from care_planner.rulebook.pack import Rulebook, TaxonRules
from care_planner.stages.noted import history_of
from care_planner.years.lessons import NO_LESSONS, Lessons, Noted
from care_planner.years.previous import NO_PREVIOUS, NOTHING_PUBLISHED, PreviousPlan, PreviousTree
from care_planner.years.resolve import resolve
from care_planner.years.state import Shared, TreeYears
from care_planner.years.tree_facts import TreeFacts


class Profile(NamedTuple):
    """All that decides the plan of a tree: its facts, its notes up to today, its published days, and what is
    believed of its pace."""

    facts: TreeFacts
    entries: tuple[Entry, ...]
    previous: PreviousTree = NOTHING_PUBLISHED
    belief: PaceBelief = NOTHING_LEARNT
    laid: tuple[tuple[str, int], ...] = ()  # days laid into people's hours, by part of a task's key


def noted_trees(collection: Collection, entries: Iterable[Entry], shared: Shared) -> list[Noted]:
    """Every tree with its facts and its entries up to today, also those that have left."""
    notes: defaultdict[str, list[Entry]] = defaultdict(list)
    days_off: defaultdict[str, set[tuple[int, int]]] = defaultdict(set)
    for entry in entries:
        if entry.day > shared.today or entry.is_aside:
            continue
        if entry.days_off is None:
            notes[entry.tree].append(entry)
        elif entry.days_off[1] >= shared.today:
            days_off[entry.tree].add(entry.days_off)
    season = shared.frame.season
    trees = sorted(collection.trees, key=lambda tree: tree.id)
    return [
        (
            tree.id,
            replace(tree_facts(tree, season), days_off=tuple(sorted(days_off[tree.id]))),
            tuple(notes[tree.id]),
        )
        for tree in trees
    ]


def twins(
    trees: Iterable[Noted], today: int, previous: PreviousPlan = NO_PREVIOUS, learnt: Lessons = NO_LESSONS
) -> list[tuple[Profile, list[str]]]:
    """Trees that differ in nothing but their names, planned as one; in the order of their first names."""
    profiles: dict[Any, tuple[Profile, list[str]]] = {}
    for tree, facts, own in trees:
        if facts.until is not None and facts.until <= today:
            continue
        published = previous.of(tree).taken_back(today, facts.days_off, {entry.put_off for entry in own})
        profile = Profile(facts, own, published, learnt.of(tree, facts))
        key: object = (facts, profile.previous.signature(), profile.belief) if not own else tree
        profiles.setdefault(key, (profile, []))[1].append(tree)
    return list(profiles.values())


def tree_facts(tree: Tree, season: int) -> TreeFacts:
    """The facts the engine uses, of a tree as the grower describes it."""
    known_from = tree.known_from or tree.acquired
    return TreeFacts(
        taxon=tree.taxon,
        bench=tree.bench,
        winter_bench=tree.winter_bench,
        goals=tuple(tree.goal_in(season + step) for step in range(-2, 3)),
        age=tree.age,
        condition=tree.condition,
        size=tree.size,
        refined=tree.refined,
        multicoloured=tree.multicoloured,
        wired=tree.wired,
        frost_limit_c=tree.frost_limit_c,
        season_of_variety=tree.season_of_variety,
        repot_every_years=tree.repot_every_years,
        last_repot=tree.last_repot.date.toordinal() if tree.last_repot else None,
        acquired=tree.acquired.toordinal() if tree.acquired else None,
        count=tree.count,
        known_from=known_from.toordinal() if known_from else None,
        until=tree.until.date.toordinal() if tree.until else None,
        learns=tree.learn,
        remembered=tuple(sorted((s, day.toordinal()) for s, day in tree.remembered_bloom.items())),
    )


def resolve_profile(profile: Profile, rulebook: Rulebook, shared: Shared) -> TreeYears:
    """The resolved years of one tree."""
    facts, entries, previous, belief, laid = profile
    rules: TaxonRules = rulebook.taxa[facts.taxon]
    repotted = facts.last_repot if (facts.last_repot or 0) <= shared.today else None
    history = history_of(entries, rules, shared.frame.south, repotted)
    return resolve(
        TreeYears(shared.with_days_off(facts.days_off), rules, facts, history, previous, belief, dict(laid))
    )
