"""What a person should be told beside the dates: facts asked for, choices made, what came too late."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from care_planner.stages.members import quantile
from care_planner.tasks.chain import choice_reasons
from care_planner.tasks.fate import Fate
from care_planner.tasks.risk_reasons import WORTH_NAMING
from care_planner.windows.reason import FactNotTold, Reason
from care_planner.windows.window import raw_ends
from care_planner.years.outcome import Outcome
from care_planner.years.reasons import State
from care_planner.years.state import TreeYears

# What late work asks for (shade, no feed) is told for so many days after it; starting value.
TOLD_DAYS = 90


@dataclass(frozen=True, slots=True)
class Notice:
    """What to tell, of which trees and seasons; of all trees and of no season where they are empty."""

    what: Reason
    seasons: tuple[int, ...] = ()
    trees: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class AgeNotTold(Reason):
    """The shelter goes by a young tree's frost limit."""


@dataclass(frozen=True, slots=True)
class FactNeeded(Reason):
    """A fact that nobody told, and the works that ask for it."""

    why: Reason | None
    works: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WeatherNeeded(Reason):
    """A work whose weather is not known."""

    work: str
    why: Reason | None


@dataclass(frozen=True, slots=True)
class NobodyThere(Reason):
    """A work in whose window everyone is away."""

    work: str
    why: Reason | None


@dataclass(frozen=True, slots=True)
class GivenUp(Reason):
    """A choice that the goal has made: the share of weather years that need it, and the pack's reason."""

    work: str
    share: float
    why: str


@dataclass(frozen=True, slots=True)
class ChoiceMade(Reason):
    """What the goal makes of a work without room."""

    work: str
    parts: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class DoneTooLate(Reason):
    """A work done after its last day (ordinals), and what the pack says of that, if anything."""

    work: str
    done: int
    last: int
    says: str


@dataclass(frozen=True, slots=True)
class LateCosts(Reason):
    """What the day of a work, done or planned, costs: a share (0 to 1) of what the pack names."""

    work: str
    state: State
    day: int
    share: float
    of: str


@dataclass(frozen=True, slots=True)
class AskedByEye(Reason):
    """A work that the grower decides on, and why."""

    work: str
    why: Reason | None


@dataclass(frozen=True, slots=True)
class WhereTo(Reason):
    """A tree that has to go in for the winter, and nobody told where to; its limit (degC)."""

    limit_c: float


@dataclass(frozen=True, slots=True)
class StillWeak(Reason):
    """A tree noted as weak on a day of a season gone by."""

    day: int


@dataclass(frozen=True, slots=True)
class WasSkipped(Reason):
    """A work noted as left undone, and what the pack says it costs."""

    work: str
    costs: str


@dataclass(frozen=True, slots=True)
class LateRootChoice:
    """A choice that late root work leaves; `decides` where the tree's goal takes it."""

    decides: bool
    goals: tuple[str, ...]
    says: str
    costs: str


@dataclass(frozen=True, slots=True)
class AfterLateRoots(Reason):
    """A work that late root work stands against, with its median days (inf or nan: none)."""

    work: str
    roots: str
    done: int
    opens: float
    closes: float
    choices: tuple[LateRootChoice, ...]


def facts_needed(fates: Mapping[str, Mapping[tuple[str, int], Fate]], season: int) -> list[tuple[str, str]]:
    """(tree, fact) for each work, by tree, that waits from `season` on for a fact which nobody told.
    `fates` as of a plan."""
    return [
        (tree, fate.reason.fact)
        for tree, of_tree in fates.items()
        for (_, at), fate in of_tree.items()
        if at >= season and isinstance(fate.reason, FactNotTold)
    ]


def what_to_tell(years: TreeYears) -> list[Notice]:
    """What a person should be told: facts asked for, choices made, weather missing. Trees are left open."""
    seasons: defaultdict[Reason, list[int]] = defaultdict(list)
    asked: defaultdict[Reason | None, set[str]] = defaultdict(set)
    for (id, step), outcome in years.outcomes.items():
        season = years.frame.season + step
        if step in (-1, 0):
            for told in _carried_over(id, outcome, years):
                seasons[told].append(season)
        if step not in (0, 1):
            continue
        roots = _after_late_roots(id, outcome, years)
        if roots is not None:
            seasons[roots].append(season)
        elif outcome.state == "asked":
            asked[outcome.reason].add(id)
        elif outcome.state == "unknown":
            seasons[WeatherNeeded(id, outcome.reason)].append(season)
        elif outcome.state == "by-eye":
            seasons[AskedByEye(id, outcome.reason)].append(season)
        elif outcome.state == "away":
            seasons[NobodyThere(id, outcome.reason)].append(season)
        elif outcome.rule.closes_after is not None and outcome.state == "planned":
            assert outcome.window is not None
            why = " ".join(outcome.rule.why.split())
            seasons[GivenUp(id, outcome.window.exists, why)].append(season)
        elif outcome.choice is not None:
            seasons[ChoiceMade(id, tuple(choice_reasons(outcome)))].append(season)
    found = [Notice(what, tuple(sorted(held))) for what, held in seasons.items()]
    if years.tree.age is None:
        found.append(Notice(AgeNotTold()))
    found += [Notice(what) for what in (*_where_to(years), *_still_weak(years))]
    return found + [Notice(FactNeeded(why, tuple(sorted(ids)))) for why, ids in asked.items()]


def _carried_over(id: str, outcome: Outcome, years: TreeYears) -> Iterator[Reason]:
    """What was done too late, or noted as left undone, and is felt until the next spring."""
    late = any(effect.if_late for effect in outcome.rule.effects)
    fresh = years.shared.today - outcome.last_day <= TOLD_DAYS
    if outcome.late_after is not None and fresh and (late or outcome.rule.if_late is not None):
        says = " ".join((outcome.rule.if_late or "").split())
        yield DoneTooLate(id, int(outcome.last_day), int(outcome.late_after), says)
    if outcome.rule.late is not None and outcome.late_share >= WORTH_NAMING and not _looked(outcome, years):
        of = outcome.rule.late.costs
        yield LateCosts(id, outcome.state, int(outcome.day), round(outcome.late_share, 2), of)
    skipped = (id, years.frame.season + outcome.step) in years.history.skipped
    if skipped and outcome.rule.if_skipped is not None:
        yield WasSkipped(id, outcome.rule.if_skipped)


def _looked(outcome: Outcome, years: TreeYears) -> bool:
    """Whether a look at the buds has said since what the reckoning only guesses."""
    season = years.frame.season + outcome.step
    signs = {sign for rule in years.rules.rules.values() for sign in rule.settled_by}
    return any(years.history.signs.get((sign, season), -1) > outcome.day for sign in signs)


def _where_to(years: TreeYears) -> Iterator[WhereTo]:
    limits = [
        outcome.sees.limit_c
        for (_, step), outcome in years.outcomes.items()
        if step in (0, 1) and outcome.state in ("planned", "open") and outcome.sees is not None
    ]
    if limits and years.tree.winter_bench is None:
        yield WhereTo(max(limits))


def _still_weak(years: TreeYears) -> Iterator[StillWeak]:
    day, word = years.history.conditions[-1] if years.history.conditions else (0, "")
    if word == "weak" and day < years.frame.start_of(0):
        yield StillWeak(day)


def _after_late_roots(id: str, outcome: Outcome, years: TreeYears) -> AfterLateRoots | None:
    """What becomes of a work that late root work stands against: the goal's choice, and what others cost."""
    if outcome.state != "lost" or not outcome.rule.after_late_roots:
        return None
    at = outcome.step
    late = [o for (_, step), o in years.outcomes.items() if step == at and o.rule.kind == "roots"]
    roots = next((o for o in late if o.rule.heavy and o.late_after is not None), None)
    if roots is None:
        return None
    opens, closes = (quantile(days, 0.5) for days in raw_ends(outcome.rule, at, years))
    goal = years.tree.goal(at)
    ordered = sorted(outcome.rule.after_late_roots, key=lambda choice: goal not in choice.goal)
    choices = tuple(LateRootChoice(goal in c.goal, tuple(c.goal), c.says, c.costs) for c in ordered)
    return AfterLateRoots(id, roots.rule.id, int(roots.last_day), opens, closes, choices)
