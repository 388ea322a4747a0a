"""What a note is held against: the collection as it stands, the rules, all earlier notes."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from care_planner.collection.model import Collection
from care_planner.collection.read_collection import COLLECTION_FILE, read_collection
from care_planner.disk.write_lock import WAIT_S
from care_planner.folder.departures import with_departures
from care_planner.folder.read_previous import read_previous
from care_planner.journal.model import Entry
from care_planner.journal.read_journal import JOURNAL_FOLDER, Journal, read_whole_journal
from care_planner.problems import Problem, ProblemsFound, did_you_mean
from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.spans import is_south
from care_planner.years.previous import PreviousPlan


@dataclass(frozen=True, eq=False)
class NoteGround:
    """What a note is checked against. Whoever keeps one need not read it again for each note, and can note
    while there is a mistake in the files."""

    collection: Collection
    rulebook: Rulebook


@dataclass(frozen=True, eq=False)
class WhatStands:
    """A ground with the journal of this moment, and what was published."""

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


def read_ground(folder: Path, ground: NoteGround | None = None, wait_s: float = WAIT_S) -> WhatStands:
    """What notes of a folder are held against; on a `ground` only the journal is read.

    Raises ProblemsFound with every mistake, or OSError where the journal stays locked for `wait_s`.
    """
    if ground is not None:
        journal = read_whole_journal(folder, wait_s)
        return WhatStands(
            with_departures(ground.collection, journal.entries), ground.rulebook, journal, folder
        )
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
    return WhatStands(with_departures(collection, journal.entries), rulebook, journal, folder)
