"""Notes from pages: each form once, not too many, and a plan asked for after each."""

import logging
import re
from collections import OrderedDict, defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from threading import BoundedSemaphore, Lock

from care_planner.calendar.faults import CannotWrite
from care_planner.problems import Problem, ProblemsFound
from care_planner.serve.clock import Ticks
from care_planner.serve.note_form import NoteForm, Wrong
from care_planner.serve.planner import Planner
from care_planner.serve.read_watched import journal_octets
from care_planner.words.days import weekday_words

# Common practice, no source: a hand at the bench notes one thing in some seconds; a machine does not stop.
NOTES_AT_ONCE = 40
SECONDS_A_NOTE = 5.0
JOURNAL_OCTETS = 20_000_000
WAIT_FOR_PLAN_S = 3.0
WAITING_AT_ONCE = 4
OUTCOMES_KEPT = 2_000
TREES_NAMED = 6

_ENTRY = re.compile(r"\((n-[a-z0-9]+) in ")
_SURE = "--sure"

log = logging.getLogger(__name__)

Note = Callable[[Path, tuple[str, ...], str, date, date, bool], list[str]]
"""The note command: folder, trees, what, on which day, today, sure -> what a person should be told."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a form: `said` was noted, `wrong` was not, `doubts` wait for "I am sure".

    `plan` is the number of the plan that knows it, 0 where none is needed; `before` that of the plan it was
    sent on; `entries` name the journal's new entries, so that they can be taken back.
    """

    said: tuple[str, ...] = ()
    wrong: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    entries: tuple[str, ...] = ()
    plan: int = 0
    before: int = 0
    too_many: bool = False


@dataclass
class _Allowance:
    left: float = NOTES_AT_ONCE
    at: float = 0.0


@dataclass
class Notebook:
    """Takes notes for a collection. `note` writes one; nothing else here touches the disk."""

    folder: Path
    planner: Planner
    note: Note
    ticks: Ticks
    _lock: Lock = field(default_factory=Lock)
    _waiting: BoundedSemaphore = field(default_factory=lambda: BoundedSemaphore(WAITING_AT_ONCE))
    _outcomes: "OrderedDict[tuple[str, str], Outcome]" = field(default_factory=OrderedDict)
    _allowances: "defaultdict[str, _Allowance]" = field(default_factory=lambda: defaultdict(_Allowance))

    def outcome(self, link: str, key: str) -> Outcome | None:
        """What became of a form of a link, if it is still remembered."""
        return self._outcomes.get((link, key))

    def entries(self, link: str) -> frozenset[str]:
        """Entries noted through a link not long ago: those it may take back."""
        with self._lock:
            held = [outcome.entries for (of, _), outcome in self._outcomes.items() if of == link]
        return frozenset(entry for entries in held for entry in entries)

    def take(self, link: str, key: str, form: NoteForm | Wrong, today: date) -> Outcome:
        """Note a form, or say what became of it when it is sent again; waits a little for the new plan.

        `link` is the digest of the link, `key` says which form with which answers it is.
        """
        with self._lock:  # one after the other: of two taps at once the second finds the first one's outcome
            outcome = self._outcomes.get((link, key))
            if outcome is None:
                outcome = self._noted(link, form, today)
                self._remember((link, key), outcome)
        if outcome.plan and self._waiting.acquire(blocking=False):
            try:
                self.planner.wait(outcome.plan, WAIT_FOR_PLAN_S)
            finally:
                self._waiting.release()
        return outcome

    def _noted(self, link: str, form: NoteForm | Wrong, today: date) -> Outcome:
        if isinstance(form, Wrong):
            return Outcome(wrong=(form.words,))
        if not self._is_allowed(link):
            return Outcome(wrong=("Too many notes in a short time. Wait a minute.",), too_many=True)
        if journal_octets(self.folder) > JOURNAL_OCTETS:
            return Outcome(wrong=("The journal has grown very large; no more is noted from here.",))
        before = self.planner.view.number
        said: list[str] = []
        problems: list[Problem] = []
        wrong: list[str] = []
        for what in form.what:
            try:
                said += self.note(self.folder, form.trees, what, form.on, today, form.sure)
            except ProblemsFound as found:
                problems += found.problems
            except (CannotWrite, OSError) as fault:
                log.warning("a note could not be written: %s", fault)
                wrong.append("The note could not be written: a fault of the machine, not yours. Try again.")
            if problems or wrong:
                break
        wrong += [_words(problem) for problem in problems if _SURE not in problem.allowed]
        doubts = [problem.what for problem in problems if _SURE in problem.allowed]
        entries = tuple(_ENTRY.findall(" ".join(said)))
        plan = self.planner.ask() if entries else 0
        return Outcome(tuple(_said(form, said)), tuple(wrong), tuple(doubts), entries, plan, before)

    def _is_allowed(self, link: str) -> bool:
        """A bucket of notes for each link, filled again slowly."""
        now, one = self.ticks(), self._allowances[link]
        one.left = min(NOTES_AT_ONCE, one.left + (now - one.at) / SECONDS_A_NOTE)
        one.at = now
        if one.left < 1:
            return False
        one.left -= 1
        return True

    def _remember(self, key: tuple[str, str], outcome: Outcome) -> None:
        if outcome.too_many:
            return
        self._outcomes[key] = outcome
        while len(self._outcomes) > OUTCOMES_KEPT:
            self._outcomes.popitem(last=False)


def _words(problem: Problem) -> str:
    return f"{problem.what}; {problem.allowed}" if problem.allowed else problem.what


def _said(form: NoteForm, told: list[str]) -> Iterator[str]:
    """What was noted, in the words of the page; mistakes elsewhere in the journal are not this page's."""
    if any(_ENTRY.search(line) for line in told):
        names = ", ".join(form.trees[:TREES_NAMED])
        more = len(form.trees) - TREES_NAMED
        trees = f"{names} and {more} more" if more > 0 else names
        yield f"Noted for {weekday_words(form.on.toordinal())}: {form.said} ({trees})"
    yield from (f"{line[0].upper()}{line[1:]}" for line in told if line.startswith("already noted"))
