"""What the plan asks for: one piece of work on one tree, with its day, its window and its reasons."""

from dataclasses import dataclass
from typing import Literal

from care_planner.rulebook.rule import Loss, Way


@dataclass(frozen=True, slots=True)
class Window:
    """Median days (proleptic ordinals) of a window; None where most members never get there."""

    opens: int | None
    likely: int | None
    closes: int | None


@dataclass(frozen=True, slots=True)
class Task:
    """One dated work on one tree.

    `key` is its identity within the collection, for example "sats-01/prune-after-bloom/2027/1/work":
    it never holds a date. `day` is a proleptic ordinal, `chance` 0 to 1, `minutes` of work; `bench` is
    the bench the tree stands on that day; `category` is the kind of work ("roots", "pruning",
    "flowers", "feeding", "water", "shelter", "look"). `what` is what to do in a sentence or two; `moved` says
    from which published day it moved and why, where it did; `done` marks work that a note says is done.
    """

    tree: str
    rule: str
    season: int
    occurrence: int
    kind: Literal["work", "look"]
    key: str
    title: str
    day: int
    window: Window
    chance: float
    minutes: int
    cautions: tuple[str, ...]
    why: tuple[str, ...]
    firm: bool
    bench: str
    taxon: str
    category: str
    way: Way = "work"
    loss: Loss = "nothing"
    until: int | None = None
    what: str = ""
    moved: str = ""
    done: bool = False
