"""What a picture of one tree's season is made of: places on its axis, in per cent of its width."""

from dataclasses import dataclass
from typing import Literal

Point = tuple[float, float]
"""x in per cent of the width, y from 0 (nothing open) to 1 (all)."""


@dataclass(frozen=True, slots=True)
class DrawnBloom:
    """The flowers open, as the most likely shape and as the widest that 8 years in 10 stay within."""

    likely: tuple[Point, ...]
    wide: tuple[Point, ...]
    seen: bool


@dataclass(frozen=True, slots=True)
class PictureGround:
    """A span of growth, by its middle dates."""

    x: float
    width: float


@dataclass(frozen=True, slots=True)
class WorkMark:
    """A work on its day, with its name in a lane of its own where the names would meet."""

    x: float
    lane: int
    name: str
    day: str
    look: Literal["planned", "done"]
    left: bool  # the name stands left of the mark


@dataclass(frozen=True, slots=True)
class Dot:
    """The first flower of an earlier year, on the day of this one's axis."""

    x: float
    year: int
    day: str


@dataclass(frozen=True, slots=True)
class DrawnFact:
    """A line of the table behind the picture; `in_passing` is what has no day of its own."""

    name: str
    when: str
    in_passing: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """A season of one tree; `today` is None where it lies outside; `words` say it in a few sentences."""

    tree: str
    season: int
    months: tuple[tuple[float, str], ...]
    today: float | None
    grounds: tuple[PictureGround, ...]
    bloom: DrawnBloom | None
    dots: tuple[Dot, ...]
    works: tuple[WorkMark, ...]
    lanes: int
    stages: tuple[DrawnFact, ...]
    table: tuple[DrawnFact, ...]
    words: str


@dataclass(frozen=True, slots=True)
class DrawnStage:
    """A stage of the season: its middle day and the days that 8 years in 10 stay within."""

    id: str
    title: str
    early: int
    middle: int
    late: int
    seen: bool
