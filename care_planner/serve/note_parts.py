"""What a form says once it is read: parts to note, in words, each with an id that stays the same."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import sha256

from care_planner.journal.lines import ID_LENGTH, ID_LETTERS, ID_START
from care_planner.words.days import weekday_words

TREES_NAMED = 6
_ID = re.compile(f"{ID_START}[{ID_LETTERS}]{{{ID_LENGTH}}}")

Fields = Mapping[str, Sequence[str]]
Words = tuple[str, str]
"""The words for the note command, and those for people."""


@dataclass(frozen=True, slots=True)
class NotePart:
    """One thing to note of some trees: `what` as the note command takes it, `said` for people, `verb` before
    its day where that is not the day of the thing itself, `who` in place of the trees' names."""

    trees: tuple[str, ...]
    what: str
    said: str
    id: str
    verb: str = ""
    who: str = ""

    def told(self, on: date, trees: Sequence[str] = ()) -> str:
        """The part in one sentence; `trees` are those that it was noted of, where they are known."""
        return told(self.who or names_of(trees or self.trees), self.said, on, self.verb)


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
        return tuple(part.told(self.on) for part in self.parts)


@dataclass(frozen=True, slots=True)
class Wrong:
    """Why nothing can be noted, for people."""

    words: str


def told(who: str, said: str, on: date, verb: str = "") -> str:
    """`sats-01 and sats-02: Repot, done, Sat 29 May`."""
    return f"{who}: {said}, {verb}{weekday_words(on.toordinal())}"


def names_of(trees: Sequence[str]) -> str:
    """A few ids as people list them; of many the first, and how many more."""
    if len(trees) == 1:
        return trees[0]
    if len(trees) <= TREES_NAMED:
        return f"{', '.join(trees[:-1])} and {trees[-1]}"
    return f"{', '.join(trees[:TREES_NAMED])} and {len(trees) - TREES_NAMED} more"


def key_of(nonce: str, fields: Fields) -> str:
    """Tells a form sent again (a double tap) from the same form sent with another answer."""
    said = sorted((name, tuple(values)) for name, values in fields.items())
    return sha256(repr((nonce, said)).encode()).hexdigest()


def entry_id(fields: Fields, key: str) -> str:
    """The id of the entry a form makes: the one it came with, or one that its key decides."""
    sent = one_of(fields, "id")
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


def one_of(fields: Fields, name: str) -> str:
    """The first value of a field, without blanks around it; empty where it was not sent."""
    values = fields.get(name, ())
    return values[0].strip() if values else ""
