"""What a pack says of one piece of work: for whom, when, why, and what it changes."""

from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from care_planner.rulebook.condition import Condition, Goal
from care_planner.rulebook.effect import Effect, Instead, NoRoom
from care_planner.rulebook.moment import Moment, MonthDay, SeasonName
from care_planner.rulebook.taxon import Name
from care_planner.typed_yaml.models import Number, Whole, YesNo
from care_planner.typed_yaml.read_yaml import Strict

WORK_KINDS = (
    "roots",
    "pruning",
    "flowers",
    "feeding",
    "water",
    "shelter",
    "light",
    "health",
    "cuttings",
    "wire",
)


Way = Literal["work", "walk", "watch", "standing"]
Loss = Literal["tree", "flowers", "growth", "form", "looks", "nothing"]

LOSSES: tuple[Loss, ...] = ("tree", "flowers", "growth", "form", "looks", "nothing")  # the dearest first

# How a rule reaches a person, and what missing it costs, where its pack does not say. Handwork is an entry of
# its own; what is given or looked at in passing goes to the weekly walk.
WAY_BY_KIND: dict[str, Way] = {"feeding": "walk", "water": "walk", "health": "walk"}
LOSS_BY_KIND: dict[str, Loss] = {
    "roots": "growth",
    "pruning": "form",
    "flowers": "flowers",
    "feeding": "growth",
    "water": "tree",
    "shelter": "tree",
    "light": "looks",
    "health": "growth",
    "cuttings": "nothing",
    "wire": "form",
}

# Kinds of work that rain puts off: wet wounds let fungi in, and wet soil cannot be worked (common practice,
# no source).
PUT_OFF_BY_RAIN = frozenset({"roots", "pruning"})


def _way_of_kind(given: dict[str, Any]) -> Way:
    return WAY_BY_KIND.get(given.get("kind", ""), "work")


def _loss_of_kind(given: dict[str, Any]) -> Loss:
    return LOSS_BY_KIND.get(given.get("kind", ""), "growth")


def _in_rain_of_kind(given: dict[str, Any]) -> bool:
    return given.get("kind", "") not in PUT_OFF_BY_RAIN


class AnotherWork(Strict):
    """Blocks where one of these works is planned or done in the season named."""

    work: Annotated[list[Name], Field(min_length=1)]
    season: SeasonName = "this"


class After(Strict):
    """Not before another work of this season, where that one is due, and so many days after it."""

    work: Name
    gap_days: Annotated[Whole, Field(ge=0, le=366)] = 0


class Rest(Strict):
    """The tree rests from this work for so many days after any of those."""

    after: Annotated[list[Name], Field(min_length=1)]
    days: Annotated[Whole, Field(ge=1, le=730)]


class Repeat(Strict):
    """Again every so many days while the window is open."""

    every_days: Annotated[Whole, Field(ge=1, le=366)]
    at_most: Annotated[Whole, Field(ge=1, le=60)] = 60


class WithinRisk(Strict):
    """A day set by a risk the collection accepts (a name under `risk:` there)."""

    latest_within_risk: Name | None = None
    earliest_within_risk: Name | None = None

    @model_validator(mode="after")
    def _one(self) -> "WithinRisk":
        if (self.latest_within_risk is None) == (self.earliest_within_risk is None):
            raise ValueError("give one of latest_within_risk and earliest_within_risk")
        return self


NamesBranches = Literal["to-tag", "to-leave", "to-take-cuttings-of", "to-look-at", "to-give-away"]


class AtRisk(Strict):
    """Ends of a window that is about a risk: not the median day, but the one with this chance left.

    `opens`: the chance, over all weather years, that it has begun by then. `closes`: the chance that it comes
    once more after it.
    """

    opens: Annotated[Number, Field(gt=0, lt=1)] | None = None
    closes: Annotated[Number, Field(gt=0, lt=1)] | None = None

    @property
    def needed(self) -> float:
        """The share of weather years with the risk from which it is planned."""
        return max(share for share in (self.opens, self.closes, 0.0) if share is not None)


class LateCost(Strict):
    """What late work costs: nothing up to a day, all of something from another on, evenly more in between."""

    costs: str  # of what, such as "next spring's flowers"
    free_until: Moment
    all_from: Moment


class Look(Strict):
    """Look at the tree from this day, since a note would settle when the work is due."""

    stage: Name
    quantile: Annotated[Number, Field(gt=0, lt=1)] = 0.1
    note: str


class Case(Strict):
    """Another window, day or title of the same work for some trees; the first case that fits holds."""

    only: Condition
    title: str | None = None
    what: str | None = None
    opens: Moment | None = None
    closes: Moment | None = None
    choose: Literal["early", "ready", "mid", "late"] | WithinRisk | None = None
    no_room: list[NoRoom] | None = None


class Minutes(Strict):
    """Minutes of work for a small and a large tree."""

    small: Annotated[Whole, Field(ge=1)]
    large: Annotated[Whole, Field(ge=1)]


class ExampleTree(Strict):
    """Facts of an example's tree; what is not given is strong, established and balanced."""

    goal: Goal = "balanced"
    age: Literal["young", "established"] | None = "established"
    condition: Literal["strong", "weak"] | None = "strong"
    size: Literal["small", "large"] = "small"
    repot: Literal["due", "not-due"] = "not-due"
    winter_bench: YesNo = False
    refined: YesNo | None = None
    multicoloured: YesNo | None = None
    wired: YesNo | None = None
    frost_limit_c: Number | None = None
    acquired: MonthDay | None = None
    did: dict[str, MonthDay] = {}
    did_last_season: dict[str, MonthDay] = {}
    saw: dict[str, MonthDay] = {}


class Because(Strict):
    """What keeps a rule from having a day: a fact of the tree, a sign, another work, or what became of it."""

    fact: str | None = None
    sign: Name | None = None
    work: Name | None = None
    state: Literal["rare", "no-room", "by-eye", "waits", "past", "lost", "unknown", "away"] | None = None

    @model_validator(mode="after")
    def _one(self) -> "Because":
        if len(self.model_dump(exclude_none=True)) != 1:
            raise ValueError("give one of fact, sign, work and state")
        return self

    @property
    def named(self) -> tuple[str, str]:
        """Its kind and the id."""
        ((kind, id),) = self.model_dump(exclude_none=True).items()
        return kind, id


class Example(Strict):
    """A check of the rule by its author: on the example weather, does it fire, and between which days."""

    tree: ExampleTree = ExampleTree()
    fires: YesNo
    between: Annotated[list[MonthDay], Field(min_length=2, max_length=2)] | None = None
    because: Because | None = None


class Rule(Strict):
    """One piece of work in a tree's year."""

    id: Name
    title: str
    kind: Literal[
        "roots",
        "pruning",
        "flowers",
        "feeding",
        "water",
        "shelter",
        "light",
        "health",
        "cuttings",
        "wire",
    ]
    # How it reaches a person: on a day of its own, on the weekly walk, while the weather of the day decides,
    # or as something that holds for a time and has no day.
    way: Annotated[Way, Field(default_factory=_way_of_kind)]
    # What missing it costs, the dearest that can happen.
    loss: Annotated[Loss, Field(default_factory=_loss_of_kind)]
    # Works told as one entry where they fall on one day, under this title.
    together: str | None = None
    after_dark: YesNo = False  # done by torch: the last line of a walk
    # Whether it can be done in rain; where not, and people told their hours, wet days count in its day.
    in_rain: Annotated[YesNo, Field(default_factory=_in_rain_of_kind)]
    what: str
    why: str
    source: str
    minutes: Minutes
    only: Condition = Condition()
    unless: list[Condition | AnotherWork] = []
    blocks: list[Name] = []
    opens: Moment
    closes: Moment
    # It comes only where it would close before this moment.
    closes_before: Moment | None = None
    # It comes at all only if in most weather years it would close after this moment.
    closes_after: Moment | None = None
    cases: list[Case] = []
    after: list[After] = []
    rests: list[Rest] = []
    heavy: YesNo = False
    repeat: Repeat | None = None
    choose: Literal["early", "ready", "mid", "late"] | WithinRisk = "mid"
    look: Look | None = None
    no_room: list[NoRoom] = []
    effects: list[Effect] = []
    without_note: Literal["done", "not-done"] = "not-done"
    missed: str | None = None
    # What is asked after its time where no note says that it was done or left undone; no question, no answer
    # needed. Until the answer, what would hurt if it had been done waits.
    asks: str | None = None
    # Work that cannot be undone is planned only where its window comes in four years of five.
    irreversible: YesNo = False
    at_risk: AtRisk | None = None
    late: LateCost | None = None
    if_late: str | None = None  # told until the next spring where it was done after its window had closed
    # Signs that are the work done, and what each says of next spring's flower buds.
    settled_by: dict[Name, Literal["present", "none"]] = {}
    rests_in: list[Name] = []  # no day of it lies where those works' windows are open in most years
    after_late_roots: list[Instead] = []  # told where root work of the season came after its window
    if_skipped: str | None = None  # told until the next spring where a note says it was left undone
    noted_as: list[Name] = []
    # Which of the tree's branches or young plants, by their flowers, its works are to name.
    names_branches: NamesBranches | None = None
    needs: list[str] = []
    forbids: list[str] = []
    cautions: list[str] = []
    examples: list[Example] = []

    def in_case(self, case: Case) -> "Rule":
        """The rule with what a case says instead."""
        parts = ("title", "what", "opens", "closes", "choose", "no_room")
        return self.model_copy(update={p: getattr(case, p) for p in parts if getattr(case, p) is not None})

    def moments(self) -> list[Moment]:
        """Every opening and close it may have."""
        others = [end for case in self.cases for end in (case.opens, case.closes) if end is not None]
        late = (self.late.free_until, self.late.all_from) if self.late is not None else ()
        limits = [moment for moment in (self.closes_before, self.closes_after, *late) if moment is not None]
        return [self.opens, self.closes, *limits, *others]

    def all_effects(self) -> list[Effect]:
        """Its effects and those of its choices where there is no room."""
        return self.effects + [effect for choice in self.no_room for effect in choice.effects]

    def moves(self, to: Literal["bench", "winter-bench"]) -> bool:
        """Whether its work moves a tree there."""
        return any(effect.moves_to == to for effect in self.effects)
