"""All files of a collection's journal -> its entries, in an order that no file name decides."""

from collections.abc import Iterable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from care_planner.disk.read_bytes import leads_out
from care_planner.disk.write_lock import WAIT_S, held
from care_planner.journal.lines import cut_off
from care_planner.journal.model import Entry, JournalFile, WrittenEntry, sort_key
from care_planner.problems import Problem, did_you_mean
from care_planner.typed_yaml.read_yaml import Located, decoded, parse_yaml, read_raw, validate

JOURNAL_FOLDER = "journal"
LOCK_NAME = ".lock"

Placed = tuple[WrittenEntry, str, int]


@dataclass(frozen=True, eq=False)
class Journal:
    """What a journal's folder holds.

    `entries` are those that still hold, one for each tree, sorted. `ids` are all that are written,
    `taken_back` pairs of an id and a tree, "" for all its trees. `torn` says, for people, in which files
    a last line was cut off while it was written: it does not count.
    """

    entries: list[Entry]
    problems: list[Problem]
    ids: frozenset[str] = frozenset()
    taken_back: frozenset[tuple[str, str]] = frozenset()
    torn: tuple[str, ...] = ()


def read_journal(folder: Path) -> tuple[list[Entry], list[Problem]]:
    """The entries that still hold in `folder/journal`, and the mistakes in it; see `read_whole_journal`."""
    journal = read_whole_journal(folder)
    return journal.entries, journal.problems


def read_whole_journal(folder: Path, wait_s: float = WAIT_S) -> Journal:
    """Read `folder/journal/*.yaml`.

    A missing folder is an empty journal. Entries that say exactly the same count once, so that a
    second copy of a file (a sync conflict) changes nothing. Entries taken back are left out.
    """
    return _read_all(folder / JOURNAL_FOLDER, wait_s)


@contextmanager
def _no_note_in_between(lock: Path, wait_s: float) -> Iterator[None]:
    """Wait until no note is being written, and let none begin: else its half might be read.

    Without a lock file nobody notes. Where it cannot be locked, as on some shares, or is held for long, the
    files are read all the same: a line that is cut off is known as such.
    """
    with ExitStack() as stack:
        with suppress(OSError):
            if lock.is_file():
                stack.enter_context(held(lock, wait_s))
        yield


def _read_all(journal: Path, wait_s: float) -> Journal:
    with _no_note_in_between(journal / LOCK_NAME, wait_s):  # only for the bytes: notes wait meanwhile
        paths, problems = _files(journal)
        files = [(f"{JOURNAL_FOLDER}/{path.name}", _fetched(path, journal)) for path in paths]
    written: list[Placed] = []
    ids: set[str] = set()
    torn = []
    for name, (raw, mistakes) in files:
        problems += mistakes
        if raw is None:
            continue
        located, mistakes, is_torn = _parsed(raw, name)
        problems += mistakes
        if is_torn:
            torn.append(f"{name}: its last line was cut off while it was written and does not count")
        if located is not None and located.data is not None:
            entries, mistakes = _entries(located)
            written += entries
            problems += mistakes
            ids |= _ids(located)
    once = {entry: (entry, file, line) for entry, file, line in reversed(written)}
    distinct = list(once.values())
    gone = _taken_back(distinct)
    problems += [*_equal_ids(distinct), *_unknown_take_backs(distinct, ids)]
    entries_left = sorted(_standing(distinct, gone), key=sort_key)
    return Journal(entries_left, sorted(set(problems)), frozenset(ids), frozenset(gone), tuple(torn))


def read_entries_as_written(folder: Path) -> list[dict[str, Any]]:
    """Every entry of `folder/journal` as plain data, as its file says it, also those taken back later."""
    paths, _ = _files(folder / JOURNAL_FOLDER)
    found: list[dict[str, Any]] = []
    for path in paths:
        raw, _ = _fetched(path, folder / JOURNAL_FOLDER)
        located = _parsed(raw, path.name)[0] if raw is not None else None
        if located is not None and isinstance(located.data, list):
            found += [entry for entry in located.data if isinstance(entry, dict)]
    return found


def _fetched(path: Path, journal: Path) -> tuple[bytes | None, list[Problem]]:
    name = f"{JOURNAL_FOLDER}/{path.name}"
    if leads_out(path, journal):
        return None, [Problem(name, 0, "a link that leads out of the journal", "put the file itself here")]
    return read_raw(path, name)


def _parsed(raw: bytes, name: str) -> tuple[Located | None, list[Problem], bool]:
    """One file without a last line that was cut off, and whether there is one."""
    torn = cut_off(raw)
    text, problems = decoded(raw[: len(raw) - len(torn)], name)
    if text is None:
        return None, problems, False
    return *parse_yaml(text, name, may_be_empty=True), bool(torn)


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
    """The entries of a file, and its mistakes. Beside wrong entries the right ones are read all the same, so
    that what they say wrong is told too.
    """
    journal, mistakes = validate(located, JournalFile)
    if journal is not None:
        read = list(enumerate(journal.root))
    else:
        items = located.data if isinstance(located.data, list) else []
        read = [(n, entry) for n, item in enumerate(items) for entry in _alone(item)]
    return [(entry, located.file, located.line((n,))) for n, entry in read], mistakes


def _alone(item: object) -> tuple[WrittenEntry, ...]:
    try:
        return tuple(JournalFile.model_validate([item]).root)
    except ValidationError:
        return ()


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


def _taken_back(written: Iterable[Placed]) -> set[tuple[str, str]]:
    """Ids with the trees they no longer hold for; a take-back that names none holds for all ("")."""
    return {
        (entry.takes_back, tree)
        for entry, _, _ in written
        if entry.takes_back is not None
        for tree in entry.trees() or ("",)
    }


def _standing(written: Iterable[Placed], gone: set[tuple[str, str]]) -> list[Entry]:
    """One entry a tree, without those taken back."""
    entries = {
        sort_key(entry): entry
        for said, file, line in reversed(list(written))
        if said.takes_back is None
        for entry in said.entries(file, line)
        if not entry.id or not {(entry.id, entry.tree), (entry.id, "")} & gone
    }
    return list(entries.values())
