"""Notes from pages: each form once, not too many, and a plan asked for after each."""

import logging
from collections import OrderedDict, deque
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from threading import BoundedSemaphore, Lock

from care_planner.calendar.faults import CannotWrite
from care_planner.folder.clock_doubts import clock_fault
from care_planner.folder.read_signs import journal_octets
from care_planner.journal.model import Entry, WrittenEntry
from care_planner.note.ground import NoteGround
from care_planner.note.new_entry import Signed
from care_planner.note.take import NoteTaken
from care_planner.problems import Problem, ProblemsFound
from care_planner.serve.allowance import Allowance
from care_planner.serve.clock import Ticks
from care_planner.serve.note_parts import NoteForm, NotePart, Wrong
from care_planner.serve.planner import Planner

# Common practice, no source: a hand at the bench notes one thing in some seconds; a machine does not stop.
NOTES_AT_ONCE = 40
SECONDS_A_NOTE = 5.0
JOURNAL_OCTETS = 20_000_000
# A small collection is planned in less: then the page that answers shows it already.
WAIT_FOR_PLAN_S = 0.15
WAITING_AT_ONCE = 4
# Of each link, so that nobody's answers push out another's.
OUTCOMES_KEPT = 200
LINKS_KEPT = 200
# Threads that may be at a note at once, and how long each waits for its turn and for the journal's lock: the
# others are for pages and feeds. Starting values.
NOTING_AT_ONCE = 6
WAIT_FOR_TURN_S = 4.0
WAIT_FOR_LOCK_S = 2.0
RECENT_KEPT = 5_000
TOO_MANY = Wrong("Too many notes in a short time. Wait a minute.")

_SURE = "--sure"

log = logging.getLogger(__name__)

Note = Callable[..., NoteTaken]
"""`note.take.take`: folder, trees, what, on which day, today, sure, learn, ground, signed."""


@dataclass(frozen=True, slots=True)
class Sender:
    """Whose link a note came by: its digest, and the name the link was made for."""

    link: str
    name: str


@dataclass(frozen=True, slots=True)
class FormOutcome:
    """What became of a form: `said` was noted, `wrong` was not, `doubts` wait for "I am sure".

    `about` says what was to be noted. `plan` is the number of the plan that knows it, 0 where none is needed;
    `before` that of the plan it was sent on; `entries` name the journal's new entries, so that they can be
    taken back; `known` says that it had been noted before, `fault` that the machine failed, not the person.
    """

    said: tuple[str, ...] = ()
    wrong: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    about: tuple[str, ...] = ()
    entries: tuple[str, ...] = ()
    plan: int = 0
    before: int = 0
    too_many: bool = False
    known: bool = False
    fault: bool = False


@dataclass(frozen=True)
class Fresh:
    """What was noted or taken back since the plan was made: entries by id, and ids that no longer hold."""

    added: tuple[Entry, ...] = ()
    gone: frozenset[str] = frozenset()

    def over(self, entries: Iterable[Entry]) -> list[Entry]:
        """The entries with what came since."""
        held = [entry for entry in entries if entry.id not in self.gone]
        known = {(entry.id, entry.tree) for entry in held}
        return held + [entry for entry in self.added if (entry.id, entry.tree) not in known]


NOT_NOW = FormOutcome(
    wrong=("It cannot be written just now: a fault of the machine, not yours.",), fault=True
)


@dataclass
class _Taking:
    """What came of the parts of a form so far."""

    said: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    entries: list[WrittenEntry] = field(default_factory=list)
    known: bool = False
    fault: bool = False


@dataclass
class Notebook:
    """Takes notes for a collection. `note` writes one; nothing else here touches the disk."""

    folder: Path
    planner: Planner
    note: Note
    ticks: Ticks
    _turn: Lock = field(default_factory=Lock)  # one note after the other
    _lock: Lock = field(default_factory=Lock)  # what is remembered; held for moments only
    _noting: BoundedSemaphore = field(default_factory=lambda: BoundedSemaphore(NOTING_AT_ONCE))
    _waiting: BoundedSemaphore = field(default_factory=lambda: BoundedSemaphore(WAITING_AT_ONCE))
    _outcomes: "OrderedDict[str, OrderedDict[str, FormOutcome]]" = field(default_factory=OrderedDict)
    _allowance: Allowance = field(default_factory=lambda: Allowance(NOTES_AT_ONCE, SECONDS_A_NOTE))
    _recent: "deque[Entry]" = field(default_factory=lambda: deque(maxlen=RECENT_KEPT))
    _gone: set[str] = field(default_factory=set)

    def outcome(self, link: str, key: str) -> FormOutcome | None:
        """What became of a form of a link, if it is still remembered."""
        with self._lock:
            return self._outcomes.get(link, OrderedDict()).get(key)

    def fresh(self) -> Fresh:
        """What came in since this process runs, whether or not a plan knows it by now."""
        with self._lock:
            recent = [entry for entry in self._recent if entry.id not in self._gone]
            return Fresh(tuple(recent), frozenset(self._gone))

    def would_take(self, link: str) -> bool:
        """Whether a link may note one thing more now: asked before work that is dear, such as a picture."""
        return self._allowance.would_take(link, self.ticks())

    def take(
        self, sender: Sender, key: str, form: NoteForm | Wrong, ground: NoteGround, today: date
    ) -> FormOutcome:
        """Note a form, or say what became of it when it is sent again.

        `key` says which form with which answers it is; `ground` is what the last good plan was made of.
        """
        if not self._noting.acquire(blocking=False):
            return NOT_NOW
        try:
            # One after the other: of two taps at once the second finds the first one's outcome.
            if not self._turn.acquire(timeout=WAIT_FOR_TURN_S):
                return NOT_NOW
            try:
                outcome = self.outcome(sender.link, key)
                if outcome is None:
                    outcome = self._noted(sender, form, ground, today)
                    self._remember(sender.link, key, outcome)
                return outcome
            finally:
                self._turn.release()
        finally:
            self._noting.release()

    def wait_for_plan(self, outcome: FormOutcome) -> None:
        """Wait a moment for the plan that knows of a note."""
        if outcome.plan and self._waiting.acquire(blocking=False):
            try:
                self.planner.wait(outcome.plan, WAIT_FOR_PLAN_S)
            finally:
                self._waiting.release()

    def _noted(self, sender: Sender, form: NoteForm | Wrong, ground: NoteGround, today: date) -> FormOutcome:
        if not self._allowance.takes(sender.link, self.ticks()):
            return FormOutcome(wrong=(TOO_MANY.words,), too_many=True)
        if isinstance(form, Wrong):
            return FormOutcome(wrong=(form.words,))
        if clock_fault(today) is not None:
            return FormOutcome(wrong=("The clock of the machine this is served from is wrong.",))
        if journal_octets(self.folder) > JOURNAL_OCTETS:
            return FormOutcome(wrong=("The journal has grown very large; no more is noted from here.",))
        before = self.planner.view.number
        taking = _Taking()
        for part in form.parts:
            if not self._take_part(taking, part, form, sender, ground, today):
                break
        self._know(taking.entries, form)
        plan = self.planner.ask() if taking.entries else 0
        lists = (taking.said, taking.wrong, taking.doubts, form.sentences)
        said, wrong, doubts, about = map(tuple, lists)
        entries = tuple(str(e.id) for e in taking.entries if e.takes_back is None)
        return FormOutcome(
            said, wrong, doubts, about, entries, plan, before, known=taking.known, fault=taking.fault
        )

    def _take_part(
        self, taking: _Taking, part: NotePart, form: NoteForm, sender: Sender, ground: NoteGround, today: date
    ) -> bool:
        """Note one part; False where the machine is at fault, so that the rest would fail too."""
        signed = Signed(part.id, sender.name)
        try:
            taken = self.note(
                self.folder,
                part.trees,
                part.what,
                form.on,
                today,
                form.sure,
                ground=ground,
                signed=signed,
                wait_s=WAIT_FOR_LOCK_S,
            )
        except ProblemsFound as found:
            taking.wrong += [_words(problem) for problem in found.problems if _SURE not in problem.allowed]
            taking.doubts += [problem.what for problem in found.problems if _SURE in problem.allowed]
            return True
        except (CannotWrite, OSError) as fault:
            log.warning("a note could not be written: %s", fault)
            taking.fault = True
            taking.wrong.append(NOT_NOW.wrong[0])
            return False
        taking.known |= taken.known
        taking.said += _said(form, part, taken)
        taking.entries += [taken.entry] if taken.entry is not None else []
        return True

    def _know(self, written: Iterable[WrittenEntry], form: NoteForm) -> None:
        with self._lock:
            for entry in written:
                self._recent += entry.entries("", 0) if entry.takes_back is None else ()
                self._gone |= {form.takes_back} - {""}

    def _remember(self, link: str, key: str, outcome: FormOutcome) -> None:
        if outcome.too_many or outcome.fault:
            return  # the same form sent again is another try
        with self._lock:
            known = self._outcomes.setdefault(link, OrderedDict())
            self._outcomes.move_to_end(link)
            known[key] = outcome
            while len(known) > OUTCOMES_KEPT:
                known.popitem(last=False)
            while len(self._outcomes) > LINKS_KEPT:
                self._outcomes.popitem(last=False)


def _words(problem: Problem) -> str:
    return f"{problem.what}; {problem.allowed}" if problem.allowed else problem.what


def _said(form: NoteForm, part: NotePart, taken: NoteTaken) -> Iterator[str]:
    """What was noted, in the words of the page; mistakes elsewhere in the journal are not this page's."""
    if taken.known:
        yield f"Noted before: {part.told(form.on)}"
    elif taken.entry is None:
        yield from (f"{line[0].upper()}{line[1:]}" for line in taken.told if line.startswith("already noted"))
    elif form.takes_back:
        yield f"Taken back: {part.said}"
    else:
        yield f"Noted: {part.told(form.on, taken.entry.trees())}"
