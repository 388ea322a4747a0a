"""What a pack says of the plant itself: its stages, its pace, its limits."""

from itertools import pairwise
from typing import Annotated, Literal

from pydantic import Field, model_validator

from care_planner.rulebook.moment import Moment, Warmth
from care_planner.typed_yaml.models import Number, Whole, YesNo
from care_planner.typed_yaml.read_yaml import Strict

Name = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=64)]
BbchCode = Annotated[str, Field(pattern=r"^\d\d(/\d\d)?$")]


class Stage(Strict):
    """A point in the tree's year. `flowering` stages fall away in a season without flower buds."""

    id: Name
    title: str
    bbch: BbchCode
    reached: Moment
    flowering: YesNo = False
    note: str | None = None


class StagePace(Strict):
    """How one stage's pace stands to the pace of the tree's other stages in the same season.

    `spread`: of the log of the warmth it needs, where it is not the taxon's. `in_step`: 0 to 1, the
    correlation with what the tree's stages have in common.
    """

    spread: Annotated[Number, Field(ge=0, le=0.5)] | None = None
    in_step: Annotated[Number, Field(ge=0, le=1)] | None = None


class Pace(Strict):
    """How trees of one taxon differ: the spread of the log of the warmth they need.

    The variance is made of parts that add up to 1: what stays with a tree (`keeps`), what fades over
    `fades_years` (by exp(-years / fades_years)), what is of one season (the rest), and what is of one note
    `alone`. `site` is the share of all but the last that trees of the taxon on one site have in common.
    The defaults of the four parts are those fitted for Rhododendron mucronulatum in its pack, rounded;
    `in_step` is between those of its flowering stages; `site` is a starting value, no source.
    """

    spread: Annotated[Number, Field(ge=0, le=0.5)]
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
    source: str

    @model_validator(mode="after")
    def _parts_of_one(self) -> "Pace":
        if self.keeps + self.fades + self.alone > 1 + 1e-9:
            raise ValueError("keeps, fades and alone are parts of one variance: together at most 1")
        return self

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


class Taxon(Strict):
    """The plant a pack is about."""

    botanical: str
    flowers: YesNo
    pace: Pace
    frost_limit_c: FrostLimits
    repot_every_years: RepotYears
    bloom_curve: BloomCurve | None = None
    check_values: list[str] = []
    kind: Literal["evergreen", "deciduous", "conifer"]
