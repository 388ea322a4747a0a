"""All files of a collection's journal -> its entries, in an order that no file name decides."""

from collections.abc import Iterable
from pathlib import Path

from care_planner.journal.model import Entry, JournalFile, WrittenEntry, sort_key
from care_planner.problems import Problem, did_you_mean
from care_planner.read_yaml import Located, read_yaml, validate

JOURNAL_FOLDER = "journal"

Placed = tuple[WrittenEntry, str, int]


def read_journal(folder: Path) -> tuple[list[Entry], list[Problem]]:
    """Read `folder/journal/*.yaml`: entries that still hold, one for each tree, sorted.

    A missing folder is an empty journal. Entries that say exactly the same count once, so that a
    second copy of a file (a sync conflict) changes nothing. Entries taken back are left out.
    """
    files, problems = _files(folder / JOURNAL_FOLDER)
    written: list[Placed] = []
    ids: set[str] = set()
    for path in files:
        located, mistakes = read_yaml(path, f"{JOURNAL_FOLDER}/{path.name}", may_be_empty=True)
        problems += mistakes
        if located is not None and located.data is not None:
            entries, mistakes = _entries(located)
            written += entries
            problems += mistakes
            ids |= _ids(located)
    once = {entry: (entry, file, line) for entry, file, line in reversed(written)}
    distinct = list(once.values())
    problems += [*_equal_ids(distinct), *_unknown_take_backs(distinct, ids)]
    return sorted(_standing(distinct), key=sort_key), sorted(set(problems))


def _files(folder: Path) -> tuple[list[Path], list[Problem]]:
    try:
        if not folder.exists():
            return [], []
        if not folder.is_dir():
            return [], [Problem(JOURNAL_FOLDER, 0, "not a folder", "a folder of .yaml files")]
        paths = sorted(path for path in folder.iterdir() if not path.name.startswith("."))
    except OSError as error:
        return [], [Problem(JOURNAL_FOLDER, 0, f"cannot be read ({error.strerror})")]
    unread = [
        Problem(f"{JOURNAL_FOLDER}/{path.name}", 0, "is not read", "let its name end in .yaml")
        for path in paths
        if path.suffix.lower() in (".yml", ".yaml") and path.suffix != ".yaml"
    ]
    return [path for path in paths if path.suffix == ".yaml"], unread


def _entries(located: Located) -> tuple[list[Placed], list[Problem]]:
    journal, mistakes = validate(located, JournalFile)
    entries = journal.root if journal else ()
    return [(entry, located.file, located.line((n,))) for n, entry in enumerate(entries)], mistakes


def _ids(located: Located) -> set[str]:
    """Entry ids as written, in a file with mistakes too: a take-back of one of these is no mistake."""
    items = located.data if isinstance(located.data, list) else []
    return {item["id"] for item in items if isinstance(item, dict) and isinstance(item.get("id"), str)}


def _equal_ids(written: Iterable[Placed]) -> list[Problem]:
    first: dict[str, str] = {}
    problems = []
    for entry, file, line in sorted(written, key=lambda placed: placed[1:]):
        if entry.id is None:
            continue
        if entry.id in first:
            what = f"entry id {entry.id!r} is given twice, first in {first[entry.id]}"
            problems.append(Problem(file, line, what, "give each entry its own id"))
        first.setdefault(entry.id, f"{file}:{line}")
    return problems


def _unknown_take_backs(written: Iterable[Placed], known: set[str]) -> list[Problem]:
    return [
        Problem(
            file,
            line,
            f"takes_back {entry.takes_back!r} names no entry",
            did_you_mean(entry.takes_back, known),
        )
        for entry, file, line in written
        if entry.takes_back is not None and entry.takes_back not in known
    ]


def _standing(written: Iterable[Placed]) -> list[Entry]:
    """One entry a tree, without those taken back; a take-back that names trees holds for these only."""
    written = list(written)
    gone = {
        (entry.takes_back, tree)
        for entry, _, _ in written
        if entry.takes_back is not None
        for tree in entry.trees() or ("",)
    }
    entries = {
        sort_key(entry): entry
        for said, file, line in reversed(written)
        if said.takes_back is None
        for entry in said.entries(file, line)
        if not entry.id or not {(entry.id, entry.tree), (entry.id, "")} & gone
    }
    return list(entries.values())
