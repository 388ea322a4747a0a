"""A journal's entries: as people write them, and as the plan takes them."""

import re
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, RootModel, model_validator

from care_planner.journal.branch_notes import BranchKeys, BranchNote
from care_planner.typed_yaml.models import (
    Allowed,
    Day,
    Label,
    LongText,
    Mistake,
    Number,
    Share,
    Slug,
    Strict,
    Text,
    YesNo,
    unfit,
    wrong,
)

NOT_YET = "not-yet"
MOST_DAYS_OFF = 366
_BBCH = re.compile(r"[0-9]{1,2}")


@dataclass(frozen=True)
class Saw:
    """What was seen; exactly one of `stage`, `share_open` and `bbch` is given unless `not_yet`.

    `not_yet` alone means that the tree's next stage is not reached; with a `stage`, that this one is not.
    `share_open` is 0 to 1; `bbch` is 0 to 99 (Meier 2001, the extended scale's two-digit code).
    """

    stage: str = ""
    share_open: float | None = None
    bbch: int | None = None
    not_yet: bool = False


@dataclass(frozen=True)
class Entry:
    """One thing noted about one tree on one day. Texts are empty where nothing was said.

    `did`, `skipped` and `put_off` are rule ids or plain words such as `repot`; `moved_to` a bench;
    `condition` `strong` or `weak`; `left` what became of a tree that is there no longer. At most one of
    these, `saw` and a thing said of a `branch` or a batch of cuttings is given.
    """

    date: date
    tree: str
    saw: Saw | None = None
    did: str = ""
    skipped: str = ""
    put_off: str = ""
    until: int = 0  # of work put off: the first day (ordinal) on which it may lie again
    plants: int = 0  # of work done in part: on how many plants of the tray by then
    moved_to: str = ""
    condition: str = ""
    left: str = ""
    branch: BranchNote | None = None
    note: str = ""
    id: str = ""
    by: str = ""  # who noted it
    learn: bool = True  # whether the tree's pace may be learnt from it
    watered: bool = False  # watered until it drained
    weighed_g: float | None = None
    days_off: tuple[int, int] | None = None  # no work on it from one day to another (ordinals)
    low_c: float | None = None  # the lowest at its bench in the night that ended that morning
    file: str = ""
    line: int = 0

    @property
    def day(self) -> int:
        """The day as an ordinal."""
        return self.date.toordinal()

    @property
    def is_aside(self) -> bool:
        """Whether it says something of water or air alone: no date of the plan hangs on it."""
        if self.weighed_g is not None or self.low_c is not None:
            return True
        said = (self.saw, self.did, self.skipped, self.put_off, self.moved_to, self.condition, self.left)
        return self.watered and not any((*said, self.branch, self.days_off))


class SawOpen(Strict):
    """A share of the flowers that is open."""

    open: Share


class SawNotYet(Strict):
    """A named stage that is not reached."""

    not_yet: Slug = Field(alias="not-yet")


class DaysOff(Strict):
    """Days on which its works are not done, the first and the last both included."""

    first: Day = Field(alias="from")
    last: Day = Field(alias="to")

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not 0 <= (self.last - self.first).days <= MOST_DAYS_OFF:
            what = f"{self.first} to {self.last} is no time to put works off"
            allowed = f"allowed: the first day, then the last, {MOST_DAYS_OFF} days later at most"
            raise wrong(Mistake(what, allowed, ("from",)))
        return self


def _bbch_in_range(value: object) -> object:
    if isinstance(value, str) and value.strip().isdigit() and not _BBCH.fullmatch(value.strip()):
        raise unfit("no BBCH code", "allowed: 0 to 99")
    return value


SawWord = Annotated[Slug, BeforeValidator(_bbch_in_range)]

_BRANCH_KEYS = ("flowers", "grows", "lost", "cuttings", "young")
_MAIN_KEYS = (
    *("saw", "did", "skipped", "put_off", "days_off", "moved_to", "condition", "left", "weighed_g", "low_c"),
    "takes_back",
    *_BRANCH_KEYS,
)
_BESIDE = ("photo", "note", "watered")


class WrittenEntry(BranchKeys):
    """An entry as it stands in a file."""

    date: Day
    tree: Slug | tuple[Slug, ...] = Field(default=(), description="one tree's id, or a list of ids")
    saw: (
        Annotated[
            SawWord | SawOpen | SawNotYet,
            Allowed("a stage such as first-flower, not-yet, {open: 0.4}, or a BBCH code"),
        ]
        | None
    ) = Field(
        default=None, description="a stage, not-yet, {open: 0.4}, {not-yet: stage}, or a BBCH code 0 to 99"
    )
    did: Slug | None = Field(default=None, description="the work done: a rule's id, or repot")
    skipped: Slug | None = Field(default=None, description="a rule's id: the work will not be done")
    put_off: Slug | None = Field(default=None, description="a rule's id: not now, but from `until` on")
    until: Day | None = Field(default=None, description="the first day on which work put off may lie again")
    moved_to: Label | None = Field(default=None, description="the bench the tree now stands on")
    condition: Literal["strong", "weak"] | None = None
    left: Literal["sold", "dead", "given-away", "lent"] | None = Field(
        default=None, description="the tree is there no longer from the next day on"
    )
    weighed_g: Number | None = Field(
        default=None, gt=0, le=10_000_000, description="the weight of pot and tree together, grams"
    )
    days_off: DaysOff | None = Field(
        default=None, description="days on which nobody works on it: its works go to others"
    )
    low_c: Number | None = Field(
        default=None,
        ge=-60,
        le=40,
        description="the lowest read at the tree's bench in the night that ended that morning, degC",
    )
    watered: YesNo | None = Field(default=None, description="yes: watered until it drained")
    note: LongText | None = None
    id: Slug | None = Field(default=None, description="names the entry, so that a later one can take it back")
    by: Text | None = Field(default=None, description="who noted it, where it was sent from a page")
    learn: YesNo | None = Field(
        default=None, description="no: fixes the day, but nothing is learnt from it; yes where not told"
    )
    takes_back: Slug | None = Field(default=None, description="the id of the entry that no longer holds")

    def __hash__(self) -> int:
        # The generated one would hash a mapping, which has none. Whatever tells entries of one day apart
        # must be in it: notes that share a hash are compared one by one.
        said = (self.did, self.skipped, self.moved_to, self.condition, self.note, self.takes_back, self.learn)
        put_off = (self.put_off, self.until, self.count, repr(self.days_off))
        return hash((self.date, self.tree, self.id, repr(self.saw), *said, *put_off, self.branch_note()))

    @model_validator(mode="after")
    def _one_thing(self) -> Self:
        said = [key for key in _MAIN_KEYS if getattr(self, key) is not None]
        found = []
        if not self.trees() and self.takes_back is None:
            found.append(Mistake("tree is missing", "needed: a tree's id, or a list of ids"))
        if len(said) > 1:
            found.append(
                Mistake(f"{' and '.join(said)} in one entry", "write one entry for each", (said[1],))
            )
        if not said and all(getattr(self, key) is None for key in _BESIDE):
            needed = ", ".join((*_MAIN_KEYS, *_BESIDE))
            found.append(Mistake("the entry says nothing", f"needed: one of {needed}"))
        if (self.put_off is None) != (self.until is None):
            key, other = ("put_off", "until") if self.until is None else ("until", "put_off")
            found.append(Mistake(f"{key} without {other}", f"needed: {other} in the same entry", (key,)))
        elif self.until is not None and self.until <= self.date:
            what = f"put off until {self.until}, which is not after the day of the note"
            found.append(Mistake(what, f"allowed: after {self.date}", ("until",)))
        found += self.branch_faults(len(self.trees()))
        if found:
            raise wrong(*found)
        return self

    def trees(self) -> tuple[str, ...]:
        """The trees it is about; none where it only takes another entry back."""
        return (self.tree,) if isinstance(self.tree, str) else self.tree

    def entries(self, file: str, line: int) -> list[Entry]:
        """One entry for each tree, with the place it stands in."""
        return [
            Entry(
                date=self.date,
                tree=tree,
                saw=self._seen(),
                did=self.did or "",
                skipped=self.skipped or "",
                put_off=self.put_off or "",
                until=self.until.toordinal() if self.until is not None else 0,
                plants=(self.count or 0) if self.did is not None else 0,
                moved_to=self.moved_to or "",
                condition=self.condition or "",
                left=self.left or "",
                branch=self.branch_note(),
                note=self.note or "",
                id=self.id or "",
                by=self.by or "",
                learn=self.learn is not False,
                watered=self.watered is True,
                weighed_g=self.weighed_g,
                days_off=(self.days_off.first.toordinal(), self.days_off.last.toordinal())
                if self.days_off is not None
                else None,
                low_c=self.low_c,
                file=file,
                line=line,
            )
            for tree in self.trees()
        ]

    def _seen(self) -> Saw | None:
        saw = self.saw
        if isinstance(saw, SawOpen):
            return Saw(share_open=saw.open)
        if isinstance(saw, SawNotYet):
            return Saw(stage=saw.not_yet, not_yet=True)
        if saw == NOT_YET:
            return Saw(not_yet=True)
        if saw is not None and _BBCH.fullmatch(saw):
            return Saw(bbch=int(saw))
        return None if saw is None else Saw(stage=saw)


class JournalFile(RootModel[tuple[WrittenEntry, ...]]):
    """A list of entries."""


def sort_key(entry: Entry) -> tuple[Any, ...]:
    """Order that depends on what an entry says, and not on where it stands."""
    saw = "" if entry.saw is None else repr(entry.saw)
    branch = "" if entry.branch is None else repr(entry.branch)
    words = (entry.did, entry.skipped, entry.put_off, entry.moved_to, entry.condition, entry.note, entry.id)
    numbers = (entry.until, entry.plants, entry.days_off or (0, 0))
    aside = (entry.watered, entry.weighed_g or 0.0, -99.0 if entry.low_c is None else entry.low_c)
    return (entry.date, entry.tree, saw, branch, *words, *numbers, entry.learn, *aside)
