"""Which trees a note is about: ids, `taxon:NAME`, `bench:NAME` or `all`. Pure."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from care_planner.collection.model import Collection
from care_planner.collection.tree import Tree
from care_planner.journal.model import Entry
from care_planner.problems import Problem, did_you_mean
from care_planner.rulebook.pack import Rulebook
from care_planner.stages.noted import history_of

WHO = "TREE"
ALL = "all"


def chosen_trees(
    who: Sequence[str],
    collection: Collection,
    rulebook: Rulebook,
    notes: Mapping[str, list[Entry]],
    on: date,
) -> tuple[list[Tree], list[Problem]]:
    """The trees meant, each once, in the collection's order, and what is wrong with the names.

    `notes` are the entries of each tree, by its id.
    A group holds the trees that were there on that day; a tree named by its id must have been acquired.
    """
    trees = {tree.id: tree for tree in collection.trees}
    here = [tree for tree in collection.trees if _is_here(tree, on)]
    found: set[str] = set()
    problems = []
    for name in who:
        kind, _, value = name.rpartition(":")
        if name == ALL:
            group, fault = here, None
        elif kind == "taxon":
            group = [tree for tree in here if tree.taxon == value]
            fault = _unknown(kind, value, {tree.taxon for tree in collection.trees})
        elif kind == "bench":
            group = [tree for tree in here if bench_on(tree, notes.get(tree.id, []), rulebook, on) == value]
            fault = _unknown(kind, value, collection.benches)
        else:
            group = [trees[name]] if name in trees else []
            fault = _unknown("tree", name, [*trees, ALL]) or _too_early(trees[name], on)
        if fault is None and not group:
            fault = Problem(WHO, 0, f"'{name}' holds no tree on {on}")
        problems += [fault] if fault is not None else []
        found |= {tree.id for tree in group}
    return [tree for tree in collection.trees if tree.id in found], problems


def bench_on(tree: Tree, notes: Iterable[Entry], rulebook: Rulebook, on: date) -> str:
    """The bench a tree stood on by its notes: moves, and work that moves it; else its home."""
    rules = rulebook.taxa[tree.taxon]
    history = history_of(notes, rules, south=False)  # seasons play no part
    moves = set(history.moves)
    homes = {"bench": tree.bench, "winter-bench": tree.winter_bench or tree.bench}
    for (id, _), days in history.works.items():
        for effect in rules.rules[id].effects:
            if effect.moves_to is not None:
                moves |= {(day, homes[effect.moves_to]) for day in days}
    before = [move for move in sorted(moves) if move[0] <= on.toordinal()]
    return before[-1][1] if before else tree.bench


def _is_here(tree: Tree, on: date) -> bool:
    return (tree.acquired is None or tree.acquired <= on) and (tree.until is None or on <= tree.until.date)


def _unknown(kind: str, name: str, known: Iterable[str]) -> Problem | None:
    known = list(known)
    return None if name in known else Problem(WHO, 0, f"unknown {kind} '{name}'", did_you_mean(name, known))


def _too_early(tree: Tree, on: date) -> Problem | None:
    if tree.acquired is None or tree.acquired <= on:
        return None
    what = f"{on} is before {tree.id} was acquired on {tree.acquired}"
    return Problem(WHO, 0, what, "allowed: that day or later")
