"""A tree's branches as rows to count flowers by: what each bore this season and the last. Pure."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from care_planner.collection.tree import Tree
from care_planner.folder.photographs import photographed
from care_planner.journal.model import Entry
from care_planner.rulebook.forms import Forms
from care_planner.spans import season_of
from care_planner.words.days import day_words


@dataclass(frozen=True, slots=True)
class BranchRow:
    """A branch by its tag ("" is the whole tree), with its flowers in words."""

    branch: str
    now: str
    last: str


def branch_rows(
    tree: Tree, entries: Iterable[Entry], forms: Forms | None, season: int, south: bool
) -> list[BranchRow]:
    """The whole tree first, then its tags by name, without those that are cut off or dead; of a tree whose
    flowers have no forms the whole tree alone."""
    if forms is None:
        return [BranchRow("", "", "")]
    notes = [entry for entry in entries if entry.branch is not None and not entry.branch.batch]
    tags = {branch.id for branch in tree.branches}
    tags |= {entry.branch.branch for entry in notes if entry.branch is not None} - {""}
    tags -= {entry.branch.branch for entry in notes if entry.branch is not None and entry.branch.lost}
    return [
        BranchRow(
            tag, _flowers(tag, notes, forms, season, south), _flowers(tag, notes, forms, season - 1, south)
        )
        for tag in ["", *sorted(tags)]
    ]


def photos_by_branch(entries: Iterable[Entry]) -> dict[str, list[tuple[str, str]]]:
    """Names of the photographs that pages keep, with their words, by branch ("" is the whole tree); the
    newest first."""
    found: defaultdict[str, list[tuple[str, str]]] = defaultdict(list)
    for entry, name in photographed(entries):
        branch = entry.branch.branch if entry.branch is not None else ""
        found[branch].append((name, f"{branch or entry.tree} on {day_words(entry.day)}"))
    return found


def _flowers(tag: str, notes: Sequence[Entry], forms: Forms, season: int, south: bool) -> str:
    """`white ground 12, striped 3`: the largest count of each form that was noted in a season."""
    counts: defaultdict[str, int] = defaultdict(int)
    for entry in notes:
        if entry.branch is None or entry.branch.branch != tag or season_of(entry.day, south) != season:
            continue
        for word, count in entry.branch.flowers:
            rung = forms.index(word)
            if rung is not None:
                counts[forms.ladder[rung].id] = max(count, counts[forms.ladder[rung].id])
    return ", ".join(f"{form.title.lower()} {counts[form.id]}" for form in forms.ladder if counts[form.id])
