"""A form sent from a page -> trees and words to note, or what is wrong with it."""

import re
from collections.abc import Collection as Some
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from hashlib import sha256

from care_planner.calendar.text import one_line
from care_planner.folder.read_folder import Inputs
from care_planner.problems import did_you_mean

LONGEST_WORDS = 300
OLDEST_NOTE_DAYS = 400
_PERCENT = re.compile(r"\d{1,3}", re.ASCII)

Fields = Mapping[str, Sequence[str]]
_LABELS = {"did": "done", "skipped": "not needed", "saw": "seen", "not-yet": "not yet"}


@dataclass(frozen=True, slots=True)
class NoteForm:
    """What to note of some trees on a day: `what` as the note command takes it; `said` for people."""

    trees: tuple[str, ...]
    what: tuple[str, ...]
    on: date
    sure: bool
    said: str


@dataclass(frozen=True, slots=True)
class Wrong:
    """Why nothing can be noted, for people."""

    words: str


def parse_note(
    fields: Fields, inputs: Inputs, allowed: Some[str], entries: Some[str], today: date
) -> NoteForm | Wrong:
    """Read a form. `allowed` are the trees its link shows, `entries` those it may take back; days are those
    of the collection's time zone.
    """
    if _one(fields, "act") == "take-back":
        return _take_back(_one(fields, "entry"), entries, today)
    trees = tuple(sorted(set(fields.get("tree", ())) & set(allowed)))
    if not trees:
        return Wrong("No tree was ticked. Tick the trees it is about.")
    on = _day(_one(fields, "on"), today)
    if on is None:
        return Wrong(f"The day must be a date up to today, {today.isoformat()}.")
    found = _what(fields, inputs, trees)
    if isinstance(found, Wrong):
        return found
    what, said = found
    words = one_line(_one(fields, "words"), LONGEST_WORDS)
    if not what and not words:
        return Wrong("Nothing was said. Write a few words first.")
    # The keyword keeps free words free, whatever they begin with.
    notes = tuple(text for text in (what, words and f"note {words}") if text)
    said = f"{said}: {words}" if what and words else said or words
    return NoteForm(trees, notes, on, _one(fields, "sure") == "yes", said)


def _take_back(entry: str, entries: Some[str], today: date) -> NoteForm | Wrong:
    if entry not in entries:
        return Wrong("That note can no longer be taken back here. Take it back in the journal.")
    return NoteForm(("all",), (f"take-back {entry}",), today, False, f"note {entry} taken back")


def key_of(nonce: str, fields: Fields) -> str:
    """Tells a form sent again (a double tap) from the same form sent with another answer."""
    said = sorted((name, tuple(values)) for name, values in fields.items())
    return sha256(repr((nonce, said)).encode()).hexdigest()


def _one(fields: Fields, name: str) -> str:
    values = fields.get(name, ())
    return values[0].strip() if values else ""


def _day(text: str, today: date) -> date | None:
    try:
        day = date.fromisoformat(text) if text else today
    except ValueError:
        return None
    return day if today - timedelta(days=OLDEST_NOTE_DAYS) <= day <= today else None


def _what(fields: Fields, inputs: Inputs, trees: Sequence[str]) -> tuple[str, str] | Wrong:
    """The words for the note command, and for people; both empty for free words alone."""
    act = _one(fields, "act")
    if act == "words":
        return "", ""
    if act == "open":
        percent = _one(fields, "open")
        if not _PERCENT.fullmatch(percent) or int(percent) > 100:
            return Wrong("The share open must be a number from 0 to 100.")
        return f"open {percent}%", f"{int(percent)} % open"
    if act in ("did", "skipped"):
        rule = _one(fields, "rule")
        titles = _titles(inputs, trees, "rules")
        if rule not in titles:
            return Wrong(f"Unknown work '{one_line(rule, 60)}'; {did_you_mean(rule, titles)}")
        return f"{act} {rule}", f"{titles[rule]}, {_LABELS[act]}"
    if act in ("saw", "not-yet"):
        stage = _one(fields, "stage")
        titles = _titles(inputs, trees, "stages")
        if stage not in titles:
            return Wrong(f"Unknown stage '{one_line(stage, 60)}'; {did_you_mean(stage, titles)}")
        return (stage if act == "saw" else f"not-yet {stage}"), f"{titles[stage]}, {_LABELS[act]}"
    return Wrong("Press one of the buttons.")


def _titles(inputs: Inputs, trees: Sequence[str], part: str) -> dict[str, str]:
    """Titles by id of the rules or stages of the trees' taxa."""
    taxa = {tree.taxon for tree in inputs.collection.trees if tree.id in trees}
    return {
        id: one.title
        for taxon in sorted(taxa)
        for id, one in getattr(inputs.rulebook.taxa[taxon], part).items()
    }
