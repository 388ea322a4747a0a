"""Note what was seen or done: choose the trees, check that it can be so, write it, say what was noted."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from pathlib import Path

from care_planner.collection.model import Collection
from care_planner.collection.read_collection import COLLECTION_FILE, read_collection
from care_planner.collection.tree import Tree
from care_planner.disk.write_lock import WAIT_S
from care_planner.folder.departures import with_departures
from care_planner.folder.read_previous import read_previous
from care_planner.journal.days_off import days_off_said
from care_planner.journal.keywords import FREE, PUT_OFF, Said
from care_planner.journal.lines import entry_line
from care_planner.journal.model import Entry, JournalFile, WrittenEntry
from care_planner.journal.read_journal import JOURNAL_FOLDER, Journal, read_whole_journal
from care_planner.journal.when import day_said
from care_planner.journal.words import Heard, parse_what
from care_planner.journal.write_note import append_note, new_id
from care_planner.note.branches import branch_problems, of_branch
from care_planner.note.doubts import doubts
from care_planner.note.far_dates import far_dates
from care_planner.note.known import known_names, trees_and_words
from care_planner.note.trees import ALL, chosen_trees
from care_planner.problems import Problem, ProblemsFound, did_you_mean
from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.spans import is_south, season_of
from care_planner.stages.noted import not_understood
from care_planner.typed_yaml.located import Located
from care_planner.typed_yaml.models import Mistake
from care_planner.typed_yaml.validate import validate
from care_planner.years.previous import PreviousPlan

WHAT, DAY = "WHAT", "--date"


@dataclass(frozen=True, eq=False)
class NoteGround:
    """What a note is checked against. Whoever keeps one need not read it again for each note, and can note
    while there is a mistake in the files."""

    collection: Collection
    rulebook: Rulebook


@dataclass(frozen=True, slots=True)
class Signed:
    """What whoever sends a note gives it: its id, so that it is noted once however often it is sent, and
    who noted it. Both may be empty."""

    id: str = ""
    by: str = ""


NOT_SIGNED = Signed()


@dataclass(frozen=True, slots=True)
class NoteTaken:
    """What became of a note: what a person should be told, and the entry written, if one was.

    `known` says that the journal had an entry of this id before, taken back or not.
    """

    told: tuple[str, ...]
    entry: WrittenEntry | None = None
    known: bool = False


@dataclass(frozen=True, eq=False)
class _Read:
    collection: Collection
    rulebook: Rulebook
    journal: Journal
    folder: Path

    @cached_property
    def published(self) -> PreviousPlan:
        """What the last published plan expects."""
        return read_previous(self.folder / "calendar")[0]

    @property
    def south(self) -> bool:
        return is_south(self.collection.site.latitude)

    @cached_property
    def notes(self) -> Mapping[str, list[Entry]]:
        """The entries of each tree."""
        notes: defaultdict[str, list[Entry]] = defaultdict(list)
        for entry in self.journal.entries:
            notes[entry.tree].append(entry)
        return notes


def note(
    folder: Path, who: tuple[str, ...], what: str, on: date, today: date, sure: bool, learn: bool = True
) -> list[str]:
    """Note `what` about the trees `who` on the day `on`; returns what a person should be told.

    `who` are tree ids, `taxon:NAME`, `bench:NAME` or `all`, or one TREE/BRANCH or TREE/BATCH/PLANT.
    A day that `what` names (yesterday, 24 May) holds instead of `on`; `sure` takes what earlier notes speak
    against; without `learn` nothing is learnt from the entry. All or nothing: raises ProblemsFound with every
    mistake, or OSError where the disk refuses, and then nothing is noted. Mistakes elsewhere in the
    journal keep nobody from noting; they are told.
    """
    return list(take(folder, who, what, on, today, sure, learn).told)


def take(
    folder: Path,
    who: tuple[str, ...],
    what: str,
    on: date,
    today: date,
    sure: bool,
    learn: bool = True,
    ground: NoteGround | None = None,
    signed: Signed = NOT_SIGNED,
    wait_s: float = WAIT_S,
) -> NoteTaken:
    """As `note`, on a `ground` that was read before, where it is given; the entry is `signed`.

    Waits up to `wait_s` each time where another program holds the journal.
    """
    read = _read(folder, ground, wait_s)
    if signed.id and signed.id in read.journal.ids:
        return NoteTaken((f"already noted: {signed.id}",), known=True)
    who, of_part = of_branch(who, what, read.collection, read.rulebook, read.journal.entries)
    days_off = days_off_said(what, on) if of_part is None else None
    if days_off is not None:
        of_part = {"days_off": {"from": days_off[0], "to": days_off[1]}}
    on, words, unclear = _day_of(what, on, today) if of_part is None else (on, what, [])
    trees, problems = chosen_trees(who, read.collection, read.rulebook, read.notes, on)
    problems += unclear
    if on > today:
        problems.append(Problem(DAY, 0, f"{on} is after today, {today}", f"allowed: {today} or earlier"))
    said, kept = _said(words, trees, read) if of_part is None else (of_part, "")
    if isinstance(said, Mistake):
        raise ProblemsFound([*problems, Problem(WHAT, 0, said.what, said.allowed)])
    if "takes_back" in said:
        entry, faults = _take_back(str(said["takes_back"]), trees, ALL in who, on, read.journal, signed)
    else:
        entry, faults = _entry(said, trees, on, learn, signed)
        if not learn and "saw" not in said:
            allowed = "allowed: with what was seen, such as first-flower"
            problems.append(Problem(WHAT, 0, "--no-learning with what nothing is learned from", allowed))
        faults += _misfits(entry, trees, read, sure) if entry is not None else []
    if entry is None or problems or faults:
        raise ProblemsFound([*problems, *faults])
    told = [f"the journal has mistakes: {problem}" for problem in read.journal.problems]
    left, again = _without_known(entry, read.notes)
    told += [*again, *_gone(trees, on)]
    if left is None:
        return NoteTaken((*told, *read.journal.torn))
    file, torn = append_note(folder, entry_line(left), season_of(on.toordinal(), read.south), today, wait_s)
    return NoteTaken((_noted(left, what, file, trees), *([kept] if kept else []), *told, *torn), left)


def note_words(
    folder: Path, words: Sequence[str], on: date | None, today: date, sure: bool, learn: bool = True
) -> list[str]:
    """As `note`, of words as they are typed: trees first, then what is said, quoted or not."""
    collection, _, problems = read_collection(folder)
    if collection is None:
        raise ProblemsFound(problems)
    who, what = trees_and_words(words, collection)
    return note(folder, who, what, on or today, today, sure, learn)


def _day_of(what: str, on: date, today: date) -> tuple[date, str, list[Problem]]:
    """The day meant, and what is said without it."""
    head = " ".join(what.lower().split()[:2])
    if head.split()[:1] in ([FREE], [f"{FREE}:"], [PUT_OFF]) or head == PUT_OFF.replace("-", " "):
        return on, what, []
    found = day_said(what, today)
    if isinstance(found, Mistake):
        return on, what, [Problem(WHAT, 0, found.what, found.allowed)]
    day, rest = found
    if day is not None and on not in (today, day):
        return on, what, [Problem(DAY, 0, f"{on} stands beside {day} in the words", "give one of the two")]
    return day or on, rest, []


def _said(words: str, trees: Iterable[Tree], read: _Read) -> tuple[Said | Mistake, str]:
    """The keys that the words say, and what is told of words that were only kept."""
    taxa = [read.rulebook.taxa[id] for id in {tree.taxon for tree in trees}] or read.rulebook.taxa.values()
    heard = parse_what(words, known_names(taxa, read.collection.benches))
    return (heard.said, heard.told) if isinstance(heard, Heard) else (heard, "")


def read_ground(folder: Path) -> "_Read":
    """What notes are held against. Raises ProblemsFound."""
    return _read(folder, None, WAIT_S)


def _read(folder: Path, ground: NoteGround | None, wait_s: float) -> _Read:
    if ground is not None:
        journal = read_whole_journal(folder, wait_s)
        return _Read(with_departures(ground.collection, journal.entries), ground.rulebook, journal, folder)
    collection, _, problems = read_collection(folder)
    if collection is None:
        raise ProblemsFound(problems)
    rulebook, faults = read_rulebook(folder / "rules", {tree.taxon for tree in collection.trees})
    journal = read_whole_journal(folder, wait_s)
    faults = faults + [problem for problem in journal.problems if problem.file == JOURNAL_FOLDER]
    faults += [
        Problem(COLLECTION_FILE, 0, f"unknown taxon '{taxon}'", did_you_mean(taxon, rulebook.packs))
        for taxon in sorted({tree.taxon for tree in collection.trees} - set(rulebook.taxa))
    ]
    if faults:
        raise ProblemsFound(faults)
    return _Read(with_departures(collection, journal.entries), rulebook, journal, folder)


def _entry(
    said: Said, trees: Sequence[Tree], on: date, learn: bool, signed: Signed
) -> tuple[WrittenEntry | None, list[Problem]]:
    ids = sorted(tree.id for tree in trees)
    if not ids:
        return None, []
    keys = {**said, "tree": _one_or_all(ids), "learn": None if learn else False}
    return _written({**keys, **_signature(signed)}, on)


def _signature(signed: Signed) -> dict[str, object]:
    return {"id": signed.id or None, "by": signed.by or None}


def _written(keys: Mapping[str, object], on: date) -> tuple[WrittenEntry | None, list[Problem]]:
    """The entry as a reader will take it, so that what is written can be read."""
    data = {"id": new_id(), "date": on, **{key: value for key, value in keys.items() if value is not None}}
    journal, problems = validate(Located(WHAT, [data], 0), JournalFile)
    return (journal.root[0] if journal else None), [replace(problem, line=0) for problem in problems]


def _one_or_all(ids: Sequence[str]) -> str | tuple[str, ...]:
    return ids[0] if len(ids) == 1 else tuple(ids)


def _misfits(entry: WrittenEntry, trees: Iterable[Tree], read: _Read, sure: bool) -> list[Problem]:
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
            said_before = doubts(one, read.notes.get(tree.id, []), rules, read.south)
            far = far_dates(one, read.published.of(tree.id), rules, read.south)
            problems += [
                Problem(WHAT, 0, f"{tree.id}: {doubt}", "add --sure if it is right")
                for doubt in (*said_before, *far)
            ]
    problems += [
        Problem(WHAT, 0, f"{_names(ids)}: {what}", allowed) for (_, (what, allowed)), ids in strangers.items()
    ]
    bench = entry.moved_to
    if bench is not None and bench not in read.collection.benches:
        allowed = did_you_mean(bench, read.collection.benches)
        problems.append(Problem(WHAT, 0, f"unknown bench '{bench}'", allowed))
    return problems


def _without_known(
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
    return (entry.model_copy(update={"tree": _one_or_all(left)}) if left else None), told


def _words(entry: Entry) -> Entry:
    """What an entry says, without its name and place."""
    return replace(entry, id="", by="", learn=True, file="", line=0)


def _take_back(
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
        what = f"entry {id} is not about {_names(named - about)}"
        return None, [Problem(WHAT, 0, what, f"allowed: {', '.join(sorted(about))}, or {ALL}")]
    part = None if all_of_it or named == about else _one_or_all(sorted(named))
    return _written({"takes_back": id, "tree": part, **_signature(signed)}, on)


def _gone(trees: Iterable[Tree], on: date) -> list[str]:
    return [
        f"{tree.id} left on {tree.until.date}: kept as history"
        for tree in trees
        if tree.until is not None and tree.until.date < on
    ]


def _noted(entry: WrittenEntry, what: str, file: str, trees: Iterable[Tree]) -> str:
    part = "/".join(str(one) for one in (entry.branch or entry.batch, entry.plant) if one)
    names = _names(f"{id}/{part}" if part else id for id in entry.trees() or [tree.id for tree in trees])
    return f"noted on {entry.date}: {' '.join(what.split())}: {names} ({entry.id} in {file})"


def _names(ids: Iterable[str], most: int = 6) -> str:
    names = sorted(ids)
    return (
        ", ".join(names) if len(names) <= most else f"{', '.join(names[:most])} and {len(names) - most} more"
    )
