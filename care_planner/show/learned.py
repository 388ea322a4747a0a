"""What the notes have taught: each tree's pace in days, from how many notes, how sure, what does not fit."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from care_planner.folder.read_folder import Inputs
from care_planner.journal.model import Entry
from care_planner.learning.learn import NO_NOTES, Learnt, OddNote
from care_planner.learning.notes import Note, unread
from care_planner.learning.past import GRID, days_by_pace
from care_planner.problems import Problem, ProblemsFound, did_you_mean
from care_planner.rulebook.pack import TaxonRules
from care_planner.show.wrapping import wrapped
from care_planner.spans import HALF_YEAR_DAYS
from care_planner.stages.history import History
from care_planner.stages.reach import Floats
from care_planner.words.days import day_words
from care_planner.years.basis import Basis
from care_planner.years.lessons import Noted, tree_notes
from care_planner.years.profiles import noted_trees

# The middle 80 % of a normal distribution, in standard deviations.
WITHIN_80 = 1.2816
# Days of a stage are told as the median over so many of the record's last seasons.
LATEST_SEASONS = 10
NO_NOTES_YET = "no notes yet, so the pace of its kind"


@dataclass(frozen=True)
class PaceLine:
    """A tree's pace as days of one stage after its taxon's, with the 80 % span; `season` it is told for."""

    stage: str
    season: int
    middle: float
    early: float
    late: float


def learned_lines(inputs: Inputs, tree: str | None, today: int) -> Iterator[str]:
    """Every taxon of the collection, or one tree note by note. Raises ProblemsFound for an unknown tree."""
    names = [one.id for one in inputs.collection.trees]
    if tree is not None and tree not in names:
        raise ProblemsFound([Problem("TREE", 0, f"unknown tree '{tree}'", did_you_mean(tree, names))])
    basis = Basis(inputs.collection, inputs.record, inputs.rulebook, today, inputs.outlook)
    everyone = noted_trees(inputs.collection, inputs.entries, basis.shared)
    learnt = basis.learn(everyone)
    yield f"What notes teach of the pace of trees, on {day_words(today)}"
    if inputs.record.kind != "daily":
        yield from wrapped("  nothing: the weather is twelve monthly means, and a pace needs real seasons")
        return
    for taxon in sorted({facts.taxon for _, facts, _ in everyone}):
        of_taxon = [one for one in everyone if one[1].taxon == taxon]
        page = _Page(inputs, basis, learnt.by_taxon.get(taxon, NO_NOTES), inputs.rulebook.taxa[taxon])
        if tree is None:
            yield ""
            yield from page.taxon(of_taxon, today)
        else:
            yield from (line for one in of_taxon if one[0] == tree for line in page.one_tree(one))


def _is_here(noted: Noted, today: int) -> bool:
    until = noted[1].until
    return until is None or until >= today


class _Page:
    """What is said of one taxon."""

    def __init__(self, inputs: Inputs, basis: Basis, learnt: Learnt, rules: TaxonRules) -> None:
        self.inputs, self.basis, self.learnt, self.rules = inputs, basis, learnt, rules
        self.past = basis.past
        self.stage = _stage_told(rules, learnt)

    def taxon(self, everyone: Sequence[Noted], today: int) -> Iterator[str]:
        """A line for each tree with notes, one for all others, and the notes that do not fit."""
        spread = self.rules.taxon.pace.spread
        trees = [one for one in everyone if _is_here(one, today)]
        yield f"{self.rules.id}"
        yield from wrapped(
            f"Trees of this taxon differ by about {spread:.0%} in the warmth they need.", "  ", "  "
        )
        told = [one for one in trees if one[0] in self.learnt.notes]
        for one in told:
            yield from wrapped(
                f"{one[0]}: {self._pace_words(one)}, {_count(self.learnt.notes[one[0]])}", "  ", "    "
            )
        rest = [one for one in trees if one[0] not in self.learnt.notes and one[1].learns]
        off = [one[0] for one in trees if not one[1].learns]
        if rest and self.learnt.notes:  # of trees that have left too
            words = (
                f"without notes of their own ({len(rest)}): {self._pace_words(rest[0])}, as their neighbours"
            )
            yield from wrapped(words, "  ", "    ")
        elif rest:
            yield from wrapped(f"{NO_NOTES_YET} ({len(rest)})", "  ", "    ")
        if off:
            yield from wrapped(f"learning is off: {', '.join(off)}", "  ", "    ")
        # What has left still speaks to its neighbours.
        yield from self._odd([one[0] for one in everyone])
        for line in (line for one in trees for line in self._unused(one)):
            yield from wrapped(line, "  ", "    ")

    def one_tree(self, noted: Noted) -> Iterator[str]:
        """Every note of a tree, and by how many days it lies off its taxon's pace."""
        tree = noted[0]
        notes = self.learnt.notes.get(tree, ())
        yield ""
        if not noted[1].learns:
            yield from wrapped(f"{tree}: learning is off, its taxon's own pace")
            return
        if not notes and not self.learnt.notes:
            yield from wrapped(f"{tree}: {NO_NOTES_YET}")
        else:
            yield from wrapped(f"{tree}: {self._pace_words(noted)}, {_count(notes)}")
        for note in sorted(notes, key=lambda note: (note.day, note.stage)):
            bound = "at least " if note.is_bound else ""
            words = f"{_note_words(note)}: {bound}{_off(note.late_days)}{self._where(note)}"
            yield from wrapped(words, "  ", "    ")
        yield from self._odd([tree])
        for line in self._unused(noted):
            yield from wrapped(line, "  ", "    ")

    def _odd(self, trees: Sequence[str]) -> Iterator[str]:
        for odd in self.learnt.odd:
            if odd.note.tree in trees:
                yield from wrapped(self._odd_words(odd), "  ", "    ")

    def _odd_words(self, odd: OddNote) -> str:
        return (
            f"does not fit the rest: {odd.note.tree}, {_note_words(odd.note)}, {_apart(odd.days)} than the "
            f"other notes and its taxon make of it; it counts for little{self._where(odd.note)}"
        )

    def _where(self, note: Note) -> str:
        return self._place(note.tree, note.day)

    def _place(self, tree: str, day: int) -> str:
        found = [entry for entry in self.inputs.entries if entry.tree == tree and entry.day == day]
        seen = [entry for entry in found if entry.saw is not None]
        return f" ({seen[0].file}:{seen[0].line})" if seen else ""

    def _unused(self, noted: Noted) -> Iterator[str]:
        tree, facts, entries = noted
        seen = [entry for entry in entries if entry.saw is not None]
        kept_out = [entry for entry in seen if not entry.learn]
        if kept_out:
            yield f"{tree}: nothing learned from {_notes(len(kept_out))}, as noted{_first_place(kept_out)}"
        first, last = self.past.seasons.start, self.past.seasons.stop - 1
        silent = unread(tree_notes(noted, self.rules, self.basis.shared), self.rules, self.past)
        if facts.learns and silent:
            what, day = silent[0]
            yield (
                f"{tree}: nothing learned from {_notes(len(silent))}, since the weather of those days is not "
                f"in the record (seasons {first} to {last}) or the stage does not wait for warmth; the first "
                f"is {what.lower()} on {day_words(day)}{self._place(tree, day)}"
            )

    def _pace_words(self, noted: Noted) -> str:
        pace = self.pace(noted)
        if pace is None:
            return "its taxon's pace"
        title = self.rules.stages[pace.stage].title.lower()
        span = f"80 %: {_way(pace.early)} to {_way(pace.late)}"
        return f"{title} {pace.season} {_off(pace.middle)} ({span})"

    def pace(self, noted: Noted) -> PaceLine | None:
        """The pace of a tree at the stage told, in the next season in which that is to come."""
        tree = noted[0]
        frame = self.basis.shared.frame
        stage = self.rules.stages[self.stage]
        passed = self.basis.today >= frame.start_of(0) + HALF_YEAR_DAYS
        season = frame.season + (1 if passed else 0)
        mean, spread = self.learnt.belief(tree).of(stage.id, season, self.rules.taxon.pace)
        days = self._days_by_pace(noted)
        if days is None:
            return None
        at = [float(np.interp(mean + z * spread, GRID, days)) for z in (-WITHIN_80, 0.0, WITHIN_80)]
        start = float(np.interp(0.0, GRID, days))
        return PaceLine(stage.id, season, at[1] - start, at[0] - start, at[2] - start)

    def _days_by_pace(self, noted: Noted) -> Floats | None:
        """Days after midwinter for every pace of the grid: the median of the record's last seasons."""
        tree = tree_notes(noted, self.rules, self.basis.shared)
        rows = []
        for season in list(self.past.seasons)[-LATEST_SEASONS - 1 :]:
            days = days_by_pace(
                self.stage, season, self.past, tree.track, self.rules, History(), tree.variety
            )
            if np.isfinite(days).all():
                rows.append(days - self.past.frame(season, 1).start_of(0))
        return np.median(rows, axis=0) if rows else None


def _stage_told(rules: TaxonRules, learnt: Learnt) -> str:
    """The stage whose days are told: first flower, else the one noted most, else the first led by warmth."""
    if rules.taxon.bloom_curve is not None:
        return rules.taxon.bloom_curve.since
    counts: dict[str, int] = {}
    for note in (note for notes in learnt.notes.values() for note in notes):
        counts[note.stage] = counts.get(note.stage, 0) + 1
    warm = [id for id, stage in rules.stages.items() if stage.reached.warmth is not None]
    return max(sorted(counts), key=lambda id: counts[id]) if counts else (warm or list(rules.stages))[0]


def _first_place(entries: Sequence[Entry]) -> str:
    return f" ({entries[0].file}:{entries[0].line})"


def _notes(count: int) -> str:
    return "1 note" if count == 1 else f"{count} notes"


def _count(notes: Sequence[Note]) -> str:
    seasons = len({note.season for note in notes})
    if not notes:
        return "from its neighbours' notes"
    return f"from {_notes(len(notes))} of {'1 season' if seasons == 1 else f'{seasons} seasons'}"


def _note_words(note: Note) -> str:
    return f"{note.what.lower()} on {day_words(note.day)}"


def _off(days: float) -> str:
    return _way(days) if round(days) else "as its taxon"


def _way(days: float) -> str:
    return f"{_days(round(abs(days)))} {'early' if round(days) < 0 else 'late'}"


def _apart(days: float) -> str:
    return f"{_days(round(abs(days)))} {'earlier' if days < 0 else 'later'}"


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
