"""A form sent from a page -> trees and words to note, or what is wrong with it."""

import re
from collections.abc import Collection as Some
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from hashlib import sha256

from care_planner.calendar.text import one_line
from care_planner.folder.read_folder import Inputs
from care_planner.journal.lines import ID_LENGTH, ID_LETTERS, ID_START
from care_planner.journal.words import CONDITIONS, FREE, Heard, parse_what
from care_planner.note.known import known_names
from care_planner.problems import did_you_mean
from care_planner.words.days import weekday_words

LONGEST_WORDS = 300
OLDEST_NOTE_DAYS = 400
MOST_PARTS = 60
TREES_NAMED = 6
_PERCENT = re.compile(r"\d{1,3}", re.ASCII)
_ID = re.compile(f"{ID_START}[{ID_LETTERS}]{{{ID_LENGTH}}}")

_COUNT = re.compile(r"\d{1,5}", re.ASCII)
_SLUG = re.compile(r"[a-z0-9][a-z0-9-]{0,63}")
_WITH_VALUE = ("open", "condition")  # what stands behind these is no tree
_OF_BRANCH = ("flowers", "grows", "lost")
_PRESS = "Press one of the buttons."

Fields = Mapping[str, Sequence[str]]
_LABELS = {"did": "done", "skipped": "not needed", "saw": "seen", "not-yet": "not yet"}
TAKE_BACK = "take-back"
NOTHING = "nothing"  # what Enter presses in a field that belongs to several buttons


@dataclass(frozen=True, slots=True)
class NotePart:
    """One thing to note of some trees: `what` as the note command takes it, `said` for people."""

    trees: tuple[str, ...]
    what: str
    said: str
    id: str


@dataclass(frozen=True, slots=True)
class NoteForm:
    """What to note on a day. `takes_back` is the id of the entry that it takes back, empty for any other."""

    parts: tuple[NotePart, ...]
    on: date
    sure: bool
    takes_back: str = ""

    @property
    def sentences(self) -> tuple[str, ...]:
        """Each part in one sentence that names the trees, the thing and the day."""
        return tuple(told(part.trees, part.said, self.on) for part in self.parts)


@dataclass(frozen=True, slots=True)
class Wrong:
    """Why nothing can be noted, for people."""

    words: str


def told(trees: Sequence[str], said: str, on: date) -> str:
    """`sats-01 and sats-02: Repot, done, Sat 29 May`."""
    return f"{names_of(trees)}: {said}, {weekday_words(on.toordinal())}"


def names_of(trees: Sequence[str]) -> str:
    """A few ids as people list them; of many the first, and how many more."""
    if len(trees) == 1:
        return trees[0]
    if len(trees) <= TREES_NAMED:
        return f"{', '.join(trees[:-1])} and {trees[-1]}"
    return f"{', '.join(trees[:TREES_NAMED])} and {len(trees) - TREES_NAMED} more"


def parse_note(
    fields: Fields, inputs: Inputs, allowed: Some[str], entries: Mapping[str, str], today: date, id: str
) -> NoteForm | Wrong:
    """Read a form. `allowed` are the trees its link shows, `entries` what it may take back (id to words);
    days are those of the collection's time zone; `id` names the first entry, others get names made from it.
    """
    act, _, one = _one(fields, "act").partition(" ")
    if act == TAKE_BACK:
        return _take_back(_one(fields, "entry"), entries, today, id)
    on = _day(_one(fields, "on") or _one(fields, "tapped"), today)
    if on is None:
        return Wrong(f"The day must be a date up to today, {today.isoformat()}.")
    sure = _one(fields, "sure") == "yes"
    if act == "walk":
        items = fields.get("every" if one == "all" else "item", ())
        return _walk(items, inputs, allowed, on, sure, id)
    trees = _trees(fields, "" if act in _WITH_VALUE else one, allowed)
    if not trees:
        return Wrong("No tree was ticked. Tick the trees it is about.")
    found = _what(act, one, fields, inputs, trees)
    if isinstance(found, Wrong):
        return found
    branch = _one(fields, "branch")
    if found and act in _OF_BRANCH:
        trees = (f"{trees[0]}/{branch}",) if branch else trees[:1]
    words = one_line(_one(fields, "words"), LONGEST_WORDS)
    # The keyword keeps free words free, whatever they begin with; words that are understood need none.
    free = f"note {words}" if found or not _is_understood(words, inputs, trees) else words
    said = [*([found] if found else []), *([(free, f"“{words}”")] if words else [])]
    if not said:
        return Wrong("Nothing was said. Write a few words first.")
    parts = [NotePart(trees, what, named, numbered(id, n)) for n, (what, named) in enumerate(said)]
    return NoteForm(tuple(parts), on, sure)


def _is_understood(words: str, inputs: Inputs, trees: Sequence[str]) -> bool:
    """Whether free words say something that the plan uses: `many fat buds`, `dead-headed`."""
    taxa = {tree.taxon for tree in inputs.collection.trees if tree.id in trees}
    known = known_names([inputs.rulebook.taxa[taxon] for taxon in taxa], inputs.collection.benches)
    heard = parse_what(words, known) if words else None
    return isinstance(heard, Heard) and set(heard.said) != {FREE} and "takes_back" not in heard.said


def _trees(fields: Fields, one: str, allowed: Some[str]) -> tuple[str, ...]:
    """The trees that a form is about: those of the button, those ticked, or all that it lists."""
    wanted: Iterable[str] = fields.get("of", ()) if one == "all" else [one] if one else fields.get("tree", ())
    return tuple(sorted(set(wanted) & set(allowed)))


def _walk(
    items: Sequence[str], inputs: Inputs, allowed: Some[str], on: date, sure: bool, id: str
) -> NoteForm | Wrong:
    """The ticked items of a bench walk, `RULE/TREE,TREE`: one entry for each."""
    parts = []
    for n, item in enumerate(items[:MOST_PARTS]):
        rule, _, listed = item.partition("/")
        trees = tuple(sorted(set(listed.split(",")) & set(allowed)))
        titles = _titles(inputs, trees, "rules")
        if not trees or rule not in titles:
            return Wrong(f"Unknown item '{one_line(item, 60)}'. Open the page again.")
        parts.append(NotePart(trees, f"did {rule}", f"{titles[rule]}, done", numbered(id, n)))
    return NoteForm(tuple(parts), on, sure) if parts else Wrong("Nothing was ticked. Tick what was done.")


def _take_back(entry: str, entries: Mapping[str, str], today: date, id: str) -> NoteForm | Wrong:
    if entry not in entries:
        return Wrong("That note can no longer be taken back here. Take it back in the journal.")
    part = NotePart(("all",), f"{TAKE_BACK} {entry}", entries[entry], id)
    return NoteForm((part,), today, False, takes_back=entry)


def key_of(nonce: str, fields: Fields) -> str:
    """Tells a form sent again (a double tap) from the same form sent with another answer."""
    said = sorted((name, tuple(values)) for name, values in fields.items())
    return sha256(repr((nonce, said)).encode()).hexdigest()


def entry_id(fields: Fields, key: str) -> str:
    """The id of the entry a form makes: the one it came with, or one that its key decides."""
    sent = _one(fields, "id")
    return sent if _ID.fullmatch(sent) else numbered(key, 0, made=True)


def numbered(id: str, number: int, made: bool = False) -> str:
    """The id of a form's entry of this number (0 is the first), the same each time it is sent."""
    if number == 0 and not made:
        return id
    value = int.from_bytes(sha256(f"{id} {number}".encode()).digest())
    letters = []
    for _ in range(ID_LENGTH):
        value, rest = divmod(value, len(ID_LETTERS))
        letters.append(ID_LETTERS[rest])
    return ID_START + "".join(letters)


def _one(fields: Fields, name: str) -> str:
    values = fields.get(name, ())
    return values[0].strip() if values else ""


def _day(text: str, today: date) -> date | None:
    try:
        day = date.fromisoformat(text) if text else today
    except ValueError:
        return None
    return day if today - timedelta(days=OLDEST_NOTE_DAYS) <= day <= today else None


def _what(
    act: str, one: str, fields: Fields, inputs: Inputs, trees: Sequence[str]
) -> tuple[str, str] | Wrong | None:
    """The words for the note command, and for people; None for free words alone."""
    if act == "words":
        return None
    if act == "open":
        return _open(one or _one(fields, "open"))
    if act == "condition":
        return (f"condition {one}", f"{one} from now on") if one in CONDITIONS else Wrong(_PRESS)
    if act == "moved":
        return _moved(_one(fields, "bench"), inputs)
    if act in _OF_BRANCH:
        return _of_branch(act, fields, inputs, trees[0])
    if act in ("did", "skipped"):
        return _of_list(act, act, _one(fields, "rule"), _titles(inputs, trees, "rules"), "work")
    if act in ("saw", "not-yet"):
        word = "" if act == "saw" else act
        titles = _titles(inputs, trees, "stages") | (_signs(inputs, trees) if act == "saw" else {})
        return _of_list(act, word, _one(fields, "stage"), titles, "stage")
    return Wrong(_PRESS)


def _moved(bench: str, inputs: Inputs) -> tuple[str, str] | Wrong:
    if not bench:
        return Wrong("No bench was chosen. Choose one from the list.")
    if bench not in inputs.collection.benches:
        return Wrong(
            f"Unknown bench '{one_line(bench, 60)}'; {did_you_mean(bench, inputs.collection.benches)}"
        )
    return f"moved-to {bench}", f"moved to bench {bench}"


def _of_branch(act: str, fields: Fields, inputs: Inputs, tree: str) -> tuple[str, str] | Wrong:
    """Flowers by form on a branch or the whole tree, a new branch, or one that is gone."""
    branch = _one(fields, "branch")
    if branch and not _SLUG.fullmatch(branch):
        return Wrong(f"A tag is a name of a-z, 0-9 and hyphens, not '{one_line(branch, 60)}'.")
    if act == "lost":
        return ("cut", f"branch {branch} is cut off") if branch else Wrong("Which branch?")
    if act == "grows":
        source = _one(fields, "from")
        if not branch or not _SLUG.fullmatch(source):
            return Wrong("Write the new branch's tag, and choose where it grows from.")
        return f"grows from {source}", f"new branch {branch}, from {source}"
    taxon = next(one.taxon for one in inputs.collection.trees if one.id == tree)
    forms = inputs.rulebook.taxa[taxon].forms
    counted = []
    for form in forms.ladder if forms is not None else ():
        count = _one(fields, f"form-{form.id}") or "0"
        if not _COUNT.fullmatch(count):
            return Wrong(f"How many flowers of {form.title.lower()} must be a number.")
        if int(count):
            counted.append((form, int(count)))
    if not counted:
        return Wrong("No flowers were counted. Count at least one form.")
    sun = " in full sun" if _one(fields, "full_sun") == "yes" else ""
    what = ", ".join(f"{form.id.replace('-', ' ')} {count}" for form, count in counted)
    said = ", ".join(f"{form.title.lower()} {count}" for form, count in counted)
    return f"flowers {what}{sun}", f"{branch or 'whole tree'}: {said}{sun}"


def _signs(inputs: Inputs, trees: Sequence[str]) -> dict[str, str]:
    """Signs that the trees' taxa know, in plain words."""
    taxa = {tree.taxon for tree in inputs.collection.trees if tree.id in trees}
    return {id: sign_words(id) for taxon in sorted(taxa) for id in sorted(inputs.rulebook.taxa[taxon].signs)}


def sign_words(id: str) -> str:
    """A sign's id as words: `leaf-galls` is `Leaf galls`."""
    return id.replace("-", " ").capitalize()


def _open(percent: str) -> tuple[str, str] | Wrong:
    if not _PERCENT.fullmatch(percent) or int(percent) > 100:
        return Wrong("The share open must be a number from 0 to 100.")
    return f"open {percent}%", f"{int(percent)} % of the flowers open"


def _of_list(act: str, word: str, id: str, titles: Mapping[str, str], kind: str) -> tuple[str, str] | Wrong:
    if not id:
        return Wrong(f"No {kind} was chosen. Choose one from the list.")
    if id not in titles:
        return Wrong(f"Unknown {kind} '{one_line(id, 60)}'; {did_you_mean(id, titles)}")
    return f"{word} {id}".strip(), f"{titles[id]}, {_LABELS[act]}"


def _titles(inputs: Inputs, trees: Sequence[str], part: str) -> dict[str, str]:
    """Titles by id of the rules or stages of the trees' taxa."""
    taxa = {tree.taxon for tree in inputs.collection.trees if tree.id in trees}
    return {
        id: one.title
        for taxon in sorted(taxa)
        for id, one in getattr(inputs.rulebook.taxa[taxon], part).items()
    }
