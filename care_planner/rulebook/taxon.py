"""What a pack says of the plant itself: its stages, its pace, its limits."""

from itertools import pairwise
from typing import Annotated, Literal

from pydantic import Field, model_validator

from care_planner.rulebook.moment import Moment, MonthDay, Warmth
from care_planner.typed_yaml.models import Number, Whole, YesNo
from care_planner.typed_yaml.read_yaml import Strict

Name = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=64)]
BbchCode = Annotated[str, Field(pattern=r"^\d\d(/\d\d)?$")]


class Stage(Strict):
    """A point in the tree's year. `flowering` stages fall away in a season without flower buds.

    `over_winter`: it may come before the new year and is of the season that begins then. `event`: what open
    records call it, where that is not its own name (`first_flower` is `first-flower`).
    """

    id: Name
    title: str
    bbch: BbchCode
    reached: Moment
    flowering: YesNo = False
    over_winter: YesNo = False
    event: str | None = None
    note: str | None = None

    @property
    def event_id(self) -> str:
        """What open records call it."""
        return self.event or self.id.replace("-", "_")


class StagePace(Strict):
    """How one stage's pace stands to the pace of the tree's other stages in the same season.

    `spread`: of the log of the warmth it needs, where it is not the taxon's. `in_step`: 0 to 1, the
    correlation with what the tree's stages have in common.
    """

    spread: Annotated[Number, Field(ge=0, le=0.8)] | None = None
    in_step: Annotated[Number, Field(ge=0, le=1)] | None = None


class PacePart(Strict):
    """Stages of one part of the year, such as autumn, with a variance made up in its own way (see `Pace`)."""

    stages: Annotated[list[Name], Field(min_length=1)]
    keeps: Annotated[Number, Field(ge=0, le=1)]
    fades: Annotated[Number, Field(ge=0, le=1)]
    fades_years: Annotated[Number, Field(gt=0)]
    alone: Annotated[Number, Field(ge=0, le=1)]

    @model_validator(mode="after")
    def _parts_of_one(self) -> "PacePart":
        _at_most_one(self.keeps, self.fades, self.alone)
        return self


class Pace(Strict):
    """How trees of one taxon differ: the spread of the log of the warmth they need.

    The variance is made of parts that add up to 1: what stays with a tree (`keeps`), what fades over
    `fades_years` (by exp(-years / fades_years)), what is of one season (the rest), and what is of one note
    `alone`. `site` is the share of all but the last that trees of the taxon on one site have in common.
    The defaults of the four parts are those fitted for Rhododendron mucronulatum in its pack, rounded;
    `in_step` is between those of its flowering stages; `site` is a starting value, no source. `parts`: stages
    of one part say nothing of those of another, nor of those in none.
    """

    spread: Annotated[Number, Field(ge=0, le=0.8)]
    early: Annotated[Number, Field(gt=0)] = 1.0
    mid: Annotated[Number, Field(gt=0)] = 1.0
    late: Annotated[Number, Field(gt=0)] = 1.0
    in_step: Annotated[Number, Field(ge=0, le=1)] = 0.9
    keeps: Annotated[Number, Field(ge=0, le=1)] = 0.1
    fades: Annotated[Number, Field(ge=0, le=1)] = 0.65
    fades_years: Annotated[Number, Field(gt=0)] = 2.0
    alone: Annotated[Number, Field(ge=0, le=1)] = 0.05
    site: Annotated[Number, Field(ge=0, le=1)] = 0.5
    stages: dict[Name, StagePace] = {}
    parts: dict[Name, PacePart] = {}
    source: str

    @model_validator(mode="after")
    def _parts_of_one(self) -> "Pace":
        _at_most_one(self.keeps, self.fades, self.alone)
        names = [stage for part in self.parts.values() for stage in part.stages]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise ValueError(f"a stage is of one part, not of two: {', '.join(twice)}")
        return self

    def part_of(self, stage: str) -> str:
        """The part of the year a stage is of; "" for none."""
        return next((name for name, part in self.parts.items() if stage in part.stages), "")

    def made_of(self, stage: str) -> "Pace | PacePart":
        """Where the make-up of a stage's variance stands: `keeps`, `fades`, `fades_years`, `alone`."""
        return self.parts.get(self.part_of(stage), self)

    def of_variety(self, season: str | None) -> float:
        """What the warmth of flowering stages is multiplied by in an early, mid or late variety."""
        return {"early": self.early, "late": self.late}.get(season or "mid", self.mid)

    def spread_of(self, stage: str) -> float:
        """The spread of a stage."""
        own = self.stages.get(stage)
        return self.spread if own is None or own.spread is None else own.spread

    def in_step_of(self, stage: str) -> float:
        """How far a stage keeps step with the tree's others."""
        own = self.stages.get(stage)
        return self.in_step if own is None or own.in_step is None else own.in_step


def _at_most_one(keeps: float, fades: float, alone: float) -> None:
    if keeps + fades + alone > 1 + 1e-9:
        raise ValueError("keeps, fades and alone are parts of one variance: together at most 1")


class CurvePoint(Strict):
    """So much of the bloom is open (0 to 1) once so much warmth has passed since the first flower."""

    open: Annotated[Number, Field(ge=0, le=1)]
    sum: Annotated[Number, Field(ge=0)]


class BloomCurve(Strict):
    """The share open against warmth since a stage; straight lines between the points."""

    since: Name
    by: Warmth
    points: Annotated[list[CurvePoint], Field(min_length=2)]
    source: str

    @model_validator(mode="after")
    def _rises(self) -> "BloomCurve":
        pairs = list(pairwise(self.points))
        if any(b.open <= a.open or b.sum <= a.sum for a, b in pairs):
            raise ValueError("the points must rise in both 'open' and 'sum'")
        return self

    def warmth_at(self, share: float) -> float:
        """Warmth since the first flower at which this share (0 to 1) is open."""
        points = self.points
        if share <= points[0].open:
            return points[0].sum
        for a, b in pairwise(points):
            if share <= b.open:
                return a.sum + (b.sum - a.sum) * (share - a.open) / (b.open - a.open)
        return points[-1].sum


class FrostLimits(Strict):
    """Air temperature (degC) at the bench below which the tree must be in shelter."""

    hardened: Number
    young: Number
    roots_worked: Number
    source: str


class RepotYears(Strict):
    """Years between two root prunings, by age."""

    young: Annotated[Whole, Field(ge=1, le=20)]
    established: Annotated[Whole, Field(ge=1, le=20)]
    source: str


class CheckValue(Strict):
    """A stage or a work of an ordinary tree, known from outside at a place, that the pack must meet.

    Tests run those of the places whose weather they have (brussels, gangneung, utsunomiya), on their median
    day; of other places they hold what is published, for whoever fits the pack.
    """

    place: str
    stage: Name | None = None
    work: Name | None = None
    size: Literal["small", "large"] = "small"
    first: MonthDay | None = Field(default=None, alias="from")
    last: MonthDay | None = Field(default=None, alias="to")
    comes: YesNo = True
    source: str

    @model_validator(mode="after")
    def _whole(self) -> "CheckValue":
        if (self.stage is None) == (self.work is None):
            raise ValueError("give one of stage and work")
        if self.comes != (self.first is not None and self.last is not None):
            raise ValueError("give from and to, or `comes: no`")
        return self


class Taxon(Strict):
    """The plant a pack is about."""

    botanical: str
    flowers: YesNo
    pace: Pace
    frost_limit_c: FrostLimits
    repot_every_years: RepotYears
    bloom_curve: BloomCurve | None = None
    check_values: list[CheckValue] = []
    kind: Literal["evergreen", "deciduous", "conifer"]
