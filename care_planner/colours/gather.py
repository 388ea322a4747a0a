"""A collection's trees of which branches, flowers or cuttings are told, by taxon, and the mistakes. Pure."""

from collections import defaultdict
from collections.abc import Iterable, Mapping

from care_planner.collection.model import Collection
from care_planner.colours.lineage import Lineage, lineage_of
from care_planner.journal.branch_notes import BranchNote
from care_planner.journal.model import Entry
from care_planner.problems import Problem
from care_planner.rulebook.pack import Rulebook
from care_planner.spans import is_south


def gather(
    collection: Collection, entries: Iterable[Entry], rulebook: Rulebook
) -> tuple[Mapping[str, list[Lineage]], list[Problem]]:
    """The lineages of trees that are there, by taxon, and every mistake in what was told of them."""
    south = is_south(collection.site.latitude)
    notes: defaultdict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        if entry.branch is not None:
            notes[entry.tree].append(entry)
    found: defaultdict[str, list[Lineage]] = defaultdict(list)
    problems: list[Problem] = []
    for tree in sorted(collection.trees, key=lambda tree: tree.id):
        rules = rulebook.taxa.get(tree.taxon)
        if rules is None:
            continue  # said where taxa are checked
        if rules.forms is None:
            allowed = "give its pack a ladder of forms"
            what = f"no forms of flower are known of {tree.taxon}"
            problems += [
                Problem(entry.file, entry.line, what, allowed)
                for entry in notes[tree.id]
                if not _is_photograph(entry.branch)
            ]
            continue
        lineage, faults = lineage_of(tree, notes[tree.id], rules.forms, south)
        problems += faults
        if lineage.is_described:
            found[tree.taxon].append(lineage)
    return found, sorted(set(problems))


def _is_photograph(note: BranchNote | None) -> bool:
    """Whether a note says nothing but where a photograph of the whole tree is: it may be of any tree."""
    return note is not None and note == BranchNote(photo=note.photo)
