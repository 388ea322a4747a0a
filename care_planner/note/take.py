"""Note what was seen or done: choose the trees, check that it can be so, write it, say what was noted."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from care_planner.collection.read_collection import read_collection
from care_planner.collection.tree import Tree
from care_planner.disk.write_lock import WAIT_S
from care_planner.journal.days_off import days_off_said
from care_planner.journal.keywords import FREE, PUT_OFF, Said
from care_planner.journal.lines import entry_line
from care_planner.journal.model import WrittenEntry
from care_planner.journal.when import day_said
from care_planner.journal.words import Heard, parse_what
from care_planner.journal.write_note import append_note
from care_planner.note.branches import of_branch
from care_planner.note.ground import NoteGround, WhatStands, read_ground
from care_planner.note.known import known_names, trees_and_words, work_of_others
from care_planner.note.misfits import misfits, without_known
from care_planner.note.new_entry import NOT_SIGNED, WHAT, Signed, names_of, new_entry, taking_back
from care_planner.note.trees import ALL, chosen_trees
from care_planner.problems import Problem, ProblemsFound
from care_planner.spans import season_of
from care_planner.typed_yaml.models import Mistake

DAY = "--date"


@dataclass(frozen=True, slots=True)
class NoteTaken:
    """What became of a note: what a person should be told, and the entry written, if one was.

    `known` says that the journal had an entry of this id before, taken back or not.
    """

    told: tuple[str, ...]
    entry: WrittenEntry | None = None
    known: bool = False


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
    read = read_ground(folder, ground, wait_s)
    if signed.id and signed.id in read.journal.ids:
        return NoteTaken((f"already noted: {signed.id}",), known=True)
    meant = _meant(read, who, what, on, today, sure, learn, signed)
    told = [f"the journal has mistakes: {problem}" for problem in read.journal.problems]
    left, again = without_known(meant.entry, read.notes)
    told += [*again, *_gone(meant.trees, meant.on)]
    if left is None:
        return NoteTaken((*told, *read.journal.torn))
    season = season_of(meant.on.toordinal(), read.south)
    file, torn = append_note(folder, entry_line(left), season, today, wait_s)
    kept = [meant.kept] if meant.kept else []
    return NoteTaken((_noted(left, what, file, meant.trees), *kept, *told, *torn), left)


@dataclass(frozen=True, slots=True)
class _Meant:
    """The entry that words mean, and what is told of words that were only kept."""

    entry: WrittenEntry
    trees: Sequence[Tree]
    on: date
    kept: str


def _meant(
    read: WhatStands,
    who: tuple[str, ...],
    what: str,
    on: date,
    today: date,
    sure: bool,
    learn: bool,
    signed: Signed,
) -> _Meant:
    """What a note means; nothing is written. Raises ProblemsFound with every mistake."""
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
        entry, faults = taking_back(str(said["takes_back"]), trees, ALL in who, on, read.journal, signed)
    else:
        entry, faults = new_entry(said, trees, on, learn, signed)
        if not learn and "saw" not in said:
            allowed = "allowed: with what was seen, such as first-flower"
            problems.append(Problem(WHAT, 0, "--no-learning with what nothing is learned from", allowed))
        faults += misfits(entry, trees, read, sure) if entry is not None else []
    if entry is None or problems or faults:
        raise ProblemsFound([*problems, *faults])
    return _Meant(entry, trees, on, kept)


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


def _said(words: str, trees: Iterable[Tree], read: WhatStands) -> tuple[Said | Mistake, str]:
    """The keys that the words say, and what is told of words that were only kept."""
    taxa = [read.rulebook.taxa[id] for id in {tree.taxon for tree in trees}] or list(
        read.rulebook.taxa.values()
    )
    every = read.rulebook.taxa.values()
    known = known_names(taxa, read.collection.benches, every)
    heard = work_of_others(words, taxa, every, known) or parse_what(words, known)
    return (heard.said, heard.told) if isinstance(heard, Heard) else (heard, "")


def _gone(trees: Iterable[Tree], on: date) -> list[str]:
    return [
        f"{tree.id} left on {tree.until.date}: kept as history"
        for tree in trees
        if tree.until is not None and tree.until.date < on
    ]


def _noted(entry: WrittenEntry, what: str, file: str, trees: Iterable[Tree]) -> str:
    part = "/".join(str(one) for one in (entry.branch or entry.batch, entry.plant) if one)
    names = names_of(f"{id}/{part}" if part else id for id in entry.trees() or [tree.id for tree in trees])
    return f"noted on {entry.date}: {' '.join(what.split())}: {names} ({entry.id} in {file})"
