"""What a pack says of the plant itself: its stages, its pace, its limits."""

from itertools import pairwise
from typing import Annotated, Literal

from pydantic import Field, model_validator

from care_planner.read_yaml import Strict
from care_planner.rulebook.moment import Moment, Warmth
from care_planner.typed_yaml.models import Number, Whole, YesNo

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


class Pace(Strict):
    """How trees of one taxon differ: the spread of the log of the warmth they need."""

    spread: Annotated[Number, Field(ge=0, le=0.5)]
    early: Annotated[Number, Field(gt=0)] = 1.0
    mid: Annotated[Number, Field(gt=0)] = 1.0
    late: Annotated[Number, Field(gt=0)] = 1.0
    source: str


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

    def share_at(self, warmth: float) -> float:
        """The share open (0 to 1) after so much warmth since the first flower."""
        points = self.points
        if warmth <= points[0].sum:
            return points[0].open
        for a, b in pairwise(points):
            if warmth <= b.sum:
                return a.open + (b.open - a.open) * (warmth - a.sum) / (b.sum - a.sum)
        return points[-1].open


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
