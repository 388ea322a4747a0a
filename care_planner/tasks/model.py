"""What the plan asks for: one piece of work on one tree, with its day, its window and its reasons."""

from dataclasses import dataclass
from typing import Literal

from care_planner.rulebook.rule import Loss, Way
from care_planner.windows.reason import Reason
from care_planner.years.move import Move
from care_planner.years.previous import look_part, work_part


@dataclass(frozen=True, slots=True)
class Window:
    """Median days (proleptic ordinals) of a window; None where most members never get there."""

    opens: int | None
    likely: int | None
    closes: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One dated work on one tree; without a tree's id (empty) what twins share.

    `day` is a proleptic ordinal, `chance` 0 to 1, `minutes` of work; `bench` is
    the bench the tree stands on that day; `category` is the kind of work ("roots", "pruning",
    "flowers", "feeding", "water", "shelter", "look"). `stage` is the one a look is for. `way` is how it
    reaches a person, `loss` what missing it costs, `until` the last day of what holds for a time.
    `together` is the name that several
    works on one day are told under. `what` is what to do in a sentence or two; `move` says
    from which published day it moved and why, where it did; `done` marks work that a note says is done,
    `left` work that found no time in the hours that people have.
    """

    tree: str = ""
    taxon: str
    rule: str
    season: int
    occurrence: int
    kind: Literal["work", "look"]
    stage: str = ""
    title: str
    day: int
    until: int | None = None
    window: Window
    chance: float
    minutes: int
    together: str = ""
    way: Way = "work"
    loss: Loss = "nothing"
    reasons: tuple[Reason, ...]
    bench: str
    category: str
    cautions: tuple[str, ...] = ()
    firm: bool = True
    what: str = ""
    move: Move | None = None
    done: bool = False
    left: bool = False

    @property
    def part(self) -> str:
        """Its identity within its tree's tasks, for example "prune-after-bloom/2027/1/work": never a date."""
        if self.kind == "look":
            return look_part(self.stage, self.season)
        return work_part(self.rule, self.season, self.occurrence)

    @property
    def key(self) -> str:
        """Its identity within the collection."""
        return f"{self.tree}/{self.part}"
