"""The entry that a note becomes."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from care_planner.collection.tree import Tree
from care_planner.journal.keywords import Said
from care_planner.journal.model import JournalFile, WrittenEntry
from care_planner.journal.read_journal import Journal
from care_planner.journal.write_note import new_id
from care_planner.note.trees import ALL
from care_planner.problems import Problem, did_you_mean
from care_planner.typed_yaml.located import Located
from care_planner.typed_yaml.validate import validate

WHAT = "WHAT"


@dataclass(frozen=True, slots=True)
class Signed:
    """What whoever sends a note gives it: its id, so that it is noted once however often it is sent, and
    who noted it. Both may be empty."""

    id: str = ""
    by: str = ""


NOT_SIGNED = Signed()


def new_entry(
    said: Said, trees: Sequence[Tree], on: date, learn: bool, signed: Signed
) -> tuple[WrittenEntry | None, list[Problem]]:
    """The entry for these trees; None without a tree. What is wrong with it is told beside it."""
    ids = sorted(tree.id for tree in trees)
    if not ids:
        return None, []
    keys = {**said, "tree": one_or_all(ids), "learn": None if learn else False}
    return _written({**keys, **_signature(signed)}, on)


def _signature(signed: Signed) -> dict[str, object]:
    return {"id": signed.id or None, "by": signed.by or None}


def _written(keys: Mapping[str, object], on: date) -> tuple[WrittenEntry | None, list[Problem]]:
    """The entry as a reader will take it, so that what is written can be read."""
    data = {"id": new_id(), "date": on, **{key: value for key, value in keys.items() if value is not None}}
    journal, problems = validate(Located(WHAT, [data], 0), JournalFile)
    return (journal.root[0] if journal else None), [replace(problem, line=0) for problem in problems]


def one_or_all(ids: Sequence[str]) -> str | tuple[str, ...]:
    """The trees as an entry holds them."""
    return ids[0] if len(ids) == 1 else tuple(ids)


def taking_back(
    id: str, trees: Sequence[Tree], all_of_it: bool, on: date, journal: Journal, signed: Signed
) -> tuple[WrittenEntry | None, list[Problem]]:
    """The entry that takes another back, for the trees named or, with `all`, as a whole."""
    about = {entry.tree for entry in journal.entries if entry.id == id}
    named = {tree.id for tree in trees}
    if id not in journal.ids:
        return None, [Problem(WHAT, 0, f"no entry has the id '{id}'", did_you_mean(id, journal.ids))]
    if not about:
        return None, [Problem(WHAT, 0, f"entry {id} does not hold", "it is taken back, or has a mistake")]
    if not all_of_it and named - about:
        what = f"entry {id} is not about {names_of(named - about)}"
        return None, [Problem(WHAT, 0, what, f"allowed: {', '.join(sorted(about))}, or {ALL}")]
    part = None if all_of_it or named == about else one_or_all(sorted(named))
    return _written({"takes_back": id, "tree": part, **_signature(signed)}, on)


def names_of(ids: Iterable[str], most: int = 6) -> str:
    """The first few names in order, and how many more there are."""
    names = sorted(ids)
    return (
        ", ".join(names) if len(names) <= most else f"{', '.join(names[:most])} and {len(names) - most} more"
    )
