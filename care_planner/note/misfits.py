"""What speaks against an entry: its taxon, its branch, earlier notes, the published plan."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import replace

from care_planner.collection.tree import Tree
from care_planner.journal.model import Entry, WrittenEntry
from care_planner.note.branches import branch_problems
from care_planner.note.doubts import doubts
from care_planner.note.far_dates import far_dates
from care_planner.note.ground import WhatStands
from care_planner.note.new_entry import WHAT, names_of, one_or_all
from care_planner.note.odd_lows import odd_low
from care_planner.note.roots_again import roots_again
from care_planner.problems import Problem, did_you_mean
from care_planner.stages.noted import not_understood


def misfits(entry: WrittenEntry, trees: Iterable[Tree], read: WhatStands, sure: bool) -> list[Problem]:
    """What each tree's taxon does not know, and what speaks against it in the tree's earlier notes."""
    problems = branch_problems(entry.entries("", 0), read.collection, read.rulebook, read.journal.entries)
    strangers: defaultdict[tuple[str, tuple[str, str]], list[str]] = defaultdict(list)
    said = {one.tree: one for one in entry.entries("", 0)}
    for tree in trees:
        one, rules = said[tree.id], read.rulebook.taxa[tree.taxon]
        fault = not_understood(one, rules)
        if fault is not None:
            strangers[tree.taxon, fault].append(tree.id)
        elif not sure:
            notes = read.notes.get(tree.id, [])
            said_before = [
                *doubts(one, notes, rules, read.south),
                *roots_again(one, notes, tree, rules, read.south),
            ]
            far = far_dates(one, read.published.of(tree.id), rules, read.south)
            problems += [
                Problem(WHAT, 0, f"{tree.id}: {doubt}", "add --sure if it is right")
                for doubt in (*said_before, *far, *odd_low(one, notes, read.south))
            ]
    problems += [
        Problem(WHAT, 0, f"{names_of(ids)}: {what}", allowed)
        for (_, (what, allowed)), ids in strangers.items()
    ]
    bench = entry.moved_to
    if bench is not None and bench not in read.collection.benches:
        allowed = did_you_mean(bench, read.collection.benches)
        problems.append(Problem(WHAT, 0, f"unknown bench '{bench}'", allowed))
    return problems


def without_known(
    entry: WrittenEntry, notes: Mapping[str, list[Entry]]
) -> tuple[WrittenEntry | None, list[str]]:
    """The entry for the trees without one of that day in the same words; what is told of the others."""
    if entry.takes_back is not None:
        return entry, []
    told, left = [], []
    for now in entry.entries("", 0):
        before = next((one for one in notes.get(now.tree, []) if _words(one) == _words(now)), None)
        if before is None:
            left.append(now.tree)
            continue
        told.append(
            f"already noted: {now.tree} on {now.date} ({before.id or f'{before.file}:{before.line}'})"
        )
        if now.learn != before.learn:
            told.append(f"{now.tree}: to learn from it or not, take that entry back first")
    return (entry.model_copy(update={"tree": one_or_all(left)}) if left else None), told


def _words(entry: Entry) -> Entry:
    """What an entry says, without its name and place."""
    return replace(entry, id="", by="", learn=True, file="", line=0)
