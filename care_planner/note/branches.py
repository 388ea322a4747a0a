"""Notes of a branch, a batch of cuttings or the form of flowers, as `TREE/BRANCH` and a short text. Pure."""

import re
from collections.abc import Iterable, Mapping, Sequence

from care_planner.collection.model import Collection
from care_planner.colours.branch_words import (
    FORMS_OF_NOTES,
    Said,
    parse_branch_words,
    speaks_of_flowers,
    split_target,
)
from care_planner.colours.gather import gather
from care_planner.journal.model import Entry
from care_planner.problems import Problem
from care_planner.rulebook.pack import Rulebook
from care_planner.typed_yaml.models import Mistake

_LIKE_A_DAY = re.compile(r"\d{1,2}/\d{1,2}(/\d{2,4})?")  # no tree's id has a slash, and no tag a figure alone


def of_branch(
    who: Sequence[str], what: str, collection: Collection, rulebook: Rulebook, entries: Iterable[Entry]
) -> tuple[tuple[str, ...], Said | Mistake | None]:
    """The trees' own names, and the keys that `what` says of a branch or of flowers, or what is wrong.

    None where the text is for the whole tree and speaks of neither: others know what it says.
    """
    if days := [name for name in who if _LIKE_A_DAY.fullmatch(name)]:
        others = tuple(name for name in who if name not in days)
        return others, Mistake(f"'{days[0]}' looks like a day", "allowed: the day as --date 2027-05-24")
    targets = [split_target(name) for name in who]
    names = tuple(tree for tree, _, _ in targets)
    parts = [target for target in targets if target[1]]
    if parts and len(targets) > 1:
        return names, Mistake("a branch among several trees", "write one note for each branch")
    head, _, rest = what.partition(" ")
    if head.lower() == "photo" and rest and (not parts or parts[0][2] is None):
        # A photograph says nothing that the plan uses: it may be of any tree.
        return names, {"photo": rest.strip(), **({"branch": parts[0][1]} if parts else {})}
    taxa = {tree.id: tree.taxon for tree in collection.trees}
    ladders = [rulebook.taxa[taxa[name]].forms for name in names if name in taxa]
    forms = next((ladder for ladder in ladders if ladder is not None), None)
    if speaks_of_flowers(what) and (strange := _without_forms(names, taxa, rulebook)):
        return names, Mistake(
            f"no forms of flower are known of {', '.join(strange)}",
            "allowed: flowers of trees whose pack has a ladder of forms; free text begins with: note",
        )
    if forms is None:
        if parts:
            return names, Mistake("branches are noted of trees that have forms of flower", FORMS_OF_NOTES)
        return names, None
    tree, part, plant = targets[0] if parts else ("", "", None)
    batches = {batch.id for one in collection.trees if one.id == tree for batch in one.cuttings}
    batches |= {e.branch.batch for e in entries if e.tree == tree and e.branch is not None and e.branch.taken}
    said = parse_branch_words(what, part, plant, forms, part in batches)
    if said is None and parts:
        text = what.strip()
        if text.lower().startswith("note "):
            owner = "batch" if part in batches else "branch"
            return names, {owner: part, "note": text[len("note ") :].strip()}
        return names, Mistake(f"'{text}' is not understood of a branch", FORMS_OF_NOTES)
    return names, said


def _without_forms(names: Iterable[str], taxa: Mapping[str, str], rulebook: Rulebook) -> list[str]:
    """The names that stand for no single tree with forms of flower."""
    known = {name for name in names if name in taxa and rulebook.taxa[taxa[name]].forms is not None}
    return [
        name
        for name in dict.fromkeys(names)
        if name not in known and (name in taxa or ":" in name or name == "all")
    ]


def branch_problems(
    added: Iterable[Entry], collection: Collection, rulebook: Rulebook, entries: Iterable[Entry]
) -> list[Problem]:
    """What is wrong with new entries beside those that are there already."""
    added, entries = [e for e in added if e.branch is not None], list(entries)
    if not added:
        return []
    before = set(gather(collection, entries, rulebook)[1])
    after = gather(collection, [*entries, *added], rulebook)[1]
    return [Problem("WHAT", 0, p.what, p.allowed) for p in after if p not in before]
