"""What a note says of one branch, or of cuttings taken from it: as written, and as it is taken."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from care_planner.typed_yaml.models import Mistake, Season, Slug, Strict, Text, Whole, YesNo

Count = Annotated[Whole, Field(ge=1, le=100_000)]
CountOrNone = Annotated[Whole, Field(ge=0, le=100_000)]
YoungEvent = Literal["rooted", "potted", "kept", "given-away", "dead"]


@dataclass(frozen=True)
class BranchNote:
    """One thing noted of a branch, or of a batch of cuttings. Empty where nothing was said.

    `flowers` are (form as written, rough count), sorted; `since` is a season. Of a batch, `taken` is how
    many cuttings it began with, `young` what became of `count` of its plants (all where None) or of plant
    number `plant`.
    """

    branch: str = ""
    flowers: tuple[tuple[str, int], ...] = ()
    full_sun: bool = False
    photo: str = ""
    grows_from: str = ""
    since: int = 0
    height: str = ""
    depth: str = ""
    lost: str = ""
    batch: str = ""
    taken: int = 0
    plant: int = 0
    young: str = ""
    count: int | None = None


class Grows(Strict):
    """A branch described by note."""

    grows_from: Slug = Field(default="trunk", alias="from", description="the branch it grows from")
    since: Season | None = Field(default=None, description="the first season in which it could flower")
    height: Literal["low", "middle", "high"] | None = None
    depth: Literal["inside", "outside"] | None = None


class TakenCuttings(Strict):
    """Cuttings taken."""

    batch: Slug = Field(description="what the batch's label says")
    count: Count = Field(description="how many cuttings")


class BranchKeys(Strict):
    """The keys of an entry that speak of a branch or of cuttings."""

    branch: Slug | None = Field(default=None, description="the branch's tag; the whole tree where not told")
    flowers: dict[Text, Count] | None = Field(
        default=None, min_length=1, description="form: about how many flowers, such as {striped: 3}"
    )
    full_sun: YesNo | None = Field(
        default=None, description="yes: seen in full sun, which bleaches, so the form is less sure"
    )
    photo: Text | None = Field(default=None, description="where the photograph is kept")
    grows: Grows | None = Field(default=None, description="describes the branch: where it grows, since when")
    lost: Literal["cut", "dead"] | None = Field(default=None, description="the branch is no longer there")
    cuttings: TakenCuttings | None = Field(default=None, description="cuttings taken from the branch")
    batch: Slug | None = Field(default=None, description="the batch of cuttings spoken of")
    plant: Whole | None = Field(default=None, ge=1, description="the number of one plant of the batch")
    young: YoungEvent | None = Field(default=None, description="what became of plants of the batch")
    count: CountOrNone | None = Field(
        default=None,
        description="of how many plants: all where not told; 0 of rooted is a count too. Beside did: on how "
        "many plants of the tray by then",
    )

    def branch_note(self) -> BranchNote | None:
        """What is said of a branch or a batch, or None."""
        grows = self.grows
        note = BranchNote(
            branch=self.branch or "",
            flowers=tuple(sorted((self.flowers or {}).items())),
            full_sun=self.full_sun is True,
            photo=self.photo or "",
            grows_from=grows.grows_from if grows else "",
            since=(grows.since or 0) if grows else 0,
            height=(grows.height or "") if grows else "",
            depth=(grows.depth or "") if grows else "",
            lost=self.lost or "",
            batch=(self.cuttings.batch if self.cuttings else self.batch) or "",
            taken=self.cuttings.count if self.cuttings else 0,
            plant=self.plant or 0,
            young=self.young or "",
            count=self.count if self.young is not None else None,
        )
        return None if note == BranchNote() else note

    def branch_faults(self, trees: int) -> Iterator[Mistake]:
        """Keys that do not go together; `trees` is how many trees the entry is about."""
        for key, others in _NEEDED.items():
            if getattr(self, key) is not None and all(getattr(self, other) is None for other in others):
                what = f"{key} without {' or '.join(others)}"
                yield Mistake(what, f"needed: {' or '.join(others)} in the same entry", (key,))
        for key in ("branch", "batch", "cuttings"):
            if getattr(self, key) is not None and trees > 1:
                yield Mistake(
                    f"{key} in an entry about {trees} trees", "write one entry for each tree", (key,)
                )
        if self.branch is not None and self.batch is not None:
            yield Mistake("branch and batch in one entry", "write one entry for each", ("batch",))
        if self.lost is not None and self.branch == TRUNK_ID:
            yield Mistake(*TRUNK_LOST, ("lost",))
        if self.grows is not None and self.branch is not None and self.grows.grows_from == self.branch:
            what = f"branch {self.branch!r} grows from itself"
            yield Mistake(what, "allowed: the branch nearer the trunk", ("grows", "from"))


TRUNK_ID = "trunk"
# A tree without its trunk is gone, and that is told where the tree is described.
TRUNK_LOST = (
    "a lost trunk is a lost tree",
    "note it of the tree: TREE dead; or write under the tree in collection.yaml: "
    "until: {date: 2027-05-01, why: dead}; its notes stay as history",
)
# A key, and the others of which it needs one beside it.
_NEEDED = {
    "branch": ("flowers", "grows", "lost", "cuttings", "photo", "note"),
    "grows": ("branch",),
    "lost": ("branch",),
    "full_sun": ("flowers",),
    "batch": ("flowers", "young", "photo", "note"),
    "plant": ("batch",),
    "young": ("batch",),
    "count": ("young", "did"),
}
