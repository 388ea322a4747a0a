"""Moments: the one grammar in which packs say when something happens.

A stage is reached at a moment; a window opens and closes at one. Exactly one of the keys in
`KINDS` says what kind it is; `season`, `since`, `plus_days` go with it where they make sense.
Units: days, degC, hours of day length, degree-days or forcing-days as the method says.
"""

import re
from calendar import monthrange
from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from care_planner.typed_yaml.models import Allowed, Number, Whole, unfit
from care_planner.typed_yaml.read_yaml import Strict

_LEAP_YEAR = 2024
_MONTH_DAY = r"^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$"


def _month_day(value: object) -> object:
    if isinstance(value, str) and not _is_month_day(value.strip()):
        raise unfit("no month-day")
    return value


def _is_month_day(text: str) -> bool:
    if not re.fullmatch(_MONTH_DAY, text):
        return False
    month, day = (int(part) for part in text.split("-"))
    return day <= monthrange(_LEAP_YEAR, month)[1]


MonthDay = Annotated[
    str,
    BeforeValidator(_month_day),
    Allowed('a month and a day in quotes, such as "05-20"'),
    WithJsonSchema({"type": "string", "pattern": _MONTH_DAY}),
]
SeasonName = Literal["previous", "this", "next"]
SEASON_STEP: dict[str, int] = {"previous": -1, "this": 0, "next": 1}
FrostLimit = Literal["frost-limit"]


class Warmth(Strict):
    """How warmth is summed: degree-days (degC d) above a base, or days of full forcing (sigmoid).

    `cold` is autumn's: degree-days of the daily mean below a base.
    """

    method: Literal[
        "average",
        "modified-average",
        "single-triangle",
        "double-triangle",
        "single-sine",
        "double-sine",
        "sigmoid",
        "cold",
    ]
    base_c: Number | None = None
    upper_c: Number | None = None
    midpoint_c: Number | None = None
    slope_per_c: Number | None = None

    @model_validator(mode="after")
    def _parameters_fit_the_method(self) -> "Warmth":
        if self.method == "sigmoid":
            if self.midpoint_c is None or self.slope_per_c is None:
                raise ValueError("a sigmoid needs midpoint_c and slope_per_c")
            if self.base_c is not None or self.upper_c is not None:
                raise ValueError("a sigmoid takes midpoint_c and slope_per_c, not base_c or upper_c")
        else:
            if self.base_c is None:
                raise ValueError(f"the method {self.method} needs base_c")
            if self.midpoint_c is not None or self.slope_per_c is not None:
                raise ValueError(
                    f"the method {self.method} takes base_c and upper_c, not a sigmoid's numbers"
                )
            if self.method == "cold" and self.upper_c is not None:
                raise ValueError("cold takes base_c alone, not upper_c")
            if self.upper_c is not None and self.upper_c <= self.base_c:
                raise ValueError("upper_c must lie above base_c")
        return self


class Chill(Strict):
    """How chill is counted: hours between two temperatures, or Utah units (Richardson et al. 1974)."""

    method: Literal["hours", "utah"]
    low_c: Number | None = None
    high_c: Number | None = None

    @model_validator(mode="after")
    def _parameters_fit_the_method(self) -> "Chill":
        if self.method == "hours" and (self.low_c is None or self.high_c is None):
            raise ValueError("chill in hours needs low_c and high_c")
        if self.method == "utah" and (self.low_c is not None or self.high_c is not None):
            raise ValueError("utah chill has weights of its own; it takes no low_c or high_c")
        if self.low_c is not None and self.high_c is not None and self.low_c >= self.high_c:
            raise ValueError("low_c must lie below high_c")
        return self


class LessChill(Strict):
    """Missing chill raises the warmth needed, linearly, up to `at_most_times` with no chill at all."""

    chill: Chill
    enough: Annotated[Number, Field(gt=0)]
    at_most_times: Annotated[Number, Field(ge=1)]
    since: MonthDay
    since_season: SeasonName = "previous"


class WarmthSum(Strict):
    """Warmth from `since` (this moment's) until the sum is reached."""

    by: Warmth
    sum: Annotated[Number, Field(gt=0)]
    less_chill: LessChill | None = None


class ChillSum(Strict):
    """Chill from `since` until the sum is reached (hours or units)."""

    by: Chill
    sum: Annotated[Number, Field(gt=0)]


class Held(Strict):
    """A daily temperature on one side of a limit for so many days running; reached on the last of them.

    `which`: the first such run, or the last one of the season.
    """

    of: Literal["mean", "max", "min"] = "mean"
    which: Literal["first", "last"] = "first"
    at_least_c: Number | None = None
    at_most_c: Number | None = None
    days: Annotated[Whole, Field(ge=1, le=60)]

    @model_validator(mode="after")
    def _one_limit(self) -> "Held":
        if (self.at_least_c is None) == (self.at_most_c is None):
            raise ValueError("give one of at_least_c and at_most_c")
        return self


class Night(Strict):
    """A night whose minimum at the tree's outdoor bench is at or under a limit (degC)."""

    at_most_c: Number | FrostLimit


class DayLength(Strict):
    """Hours of day length, sunrise to sunset, falling to or rising to a limit."""

    at_least_h: Annotated[Number, Field(ge=0, le=24)] | None = None
    at_most_h: Annotated[Number, Field(ge=0, le=24)] | None = None

    @model_validator(mode="after")
    def _one_limit(self) -> "DayLength":
        if (self.at_least_h is None) == (self.at_most_h is None):
            raise ValueError("give one of at_least_h and at_most_h")
        return self


class LastDayLeaving(Strict):
    """The last day from which so much warmth still falls before another moment."""

    by: Warmth
    sum: Annotated[Number, Field(gt=0)]
    before: "Moment"


KINDS = (
    "stage",
    "share_open",
    "warmth",
    "chill",
    "held",
    "first_night",
    "last_night",
    "day_length",
    "work",
    "noted_work",
    "last_cut",
    "sign",
    "month_day",
    "last_day_leaving",
    "earliest",
    "latest",
    "of",
)
TAKES_SINCE = ("warmth", "chill", "held", "day_length")
TAKES_SEASON = (
    "stage",
    "share_open",
    "work",
    "noted_work",
    "month_day",
    "first_night",
    "last_night",
    "last_cut",
    "sign",
)


class Moment(Strict):
    """One moment of a tree's year; see the module's docstring for the grammar."""

    stage: str | None = None
    share_open: Annotated[Number, Field(ge=0, le=1)] | None = None
    warmth: WarmthSum | None = None
    chill: ChillSum | None = None
    held: Held | None = None
    first_night: Night | None = None
    last_night: Night | None = None
    day_length: DayLength | None = None
    work: str | None = None
    # The day on which a note says that a work was done, whatever is planned; it waits for nothing.
    noted_work: str | None = None
    last_cut: Literal["any"] | None = None
    sign: str | None = None
    month_day: MonthDay | None = None
    last_day_leaving: LastDayLeaving | None = None
    earliest: Annotated[list["Moment"], Field(min_length=2)] | None = None
    latest: Annotated[list["Moment"], Field(min_length=2)] | None = None
    of: Literal["opens", "closes"] | None = None
    season: SeasonName = "this"
    since: "Moment | None" = None
    plus_days: Annotated[Whole, Field(ge=-366, le=366)] = 0

    @model_validator(mode="after")
    def _one_kind(self) -> "Moment":
        given = [kind for kind in KINDS if getattr(self, kind) is not None]
        if len(given) != 1:
            said = "says none" if not given else f"says {' and '.join(given)}"
            raise ValueError(f"a moment is of exactly one kind, this one {said}; allowed: {', '.join(KINDS)}")
        if self.since is not None and given[0] not in TAKES_SINCE:
            raise ValueError(f"'since' goes with {', '.join(TAKES_SINCE)}, not with {given[0]}")
        if given[0] in ("warmth", "chill") and self.since is None:
            raise ValueError(f"{given[0]} needs 'since': the moment from which it is summed")
        if self.season != "this" and given[0] not in TAKES_SEASON:
            raise ValueError(f"'season' goes with {', '.join(TAKES_SEASON)}, not with {given[0]}")
        return self

    @property
    def kind(self) -> str:
        """Which of `KINDS` this moment is."""
        return next(kind for kind in KINDS if getattr(self, kind) is not None)

    def parts(self) -> Iterator["Moment"]:
        """The moments directly inside this one."""
        yield from self.earliest or ()
        yield from self.latest or ()
        if self.since is not None:
            yield self.since
        if self.last_day_leaving is not None:
            yield self.last_day_leaving.before

    def walk(self) -> Iterator["Moment"]:
        """This moment and every one inside it."""
        yield self
        for part in self.parts():
            yield from part.walk()
