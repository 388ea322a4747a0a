"""What a person should be told of a tree: facts asked for, choices made, what came too late."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping

from care_planner.rulebook.rule import Rule
from care_planner.stages.members import quantile
from care_planner.tasks.chain import choice_reasons
from care_planner.tasks.fate import Fate
from care_planner.tasks.levelling import COSTS
from care_planner.tasks.notices import (
    AfterLateRoots,
    AgeNotTold,
    AskedByEye,
    ChoiceMade,
    DoneTooLate,
    FactNeeded,
    GivenUp,
    LateCosts,
    LateRootChoice,
    NobodyThere,
    NoOwnWorks,
    Notice,
    StillWeak,
    WasSkipped,
    WeatherNeeded,
    WhereTo,
)
from care_planner.tasks.risk_reasons import WORTH_NAMING, night_limit_c
from care_planner.windows.reason import FactNotTold, Reason
from care_planner.windows.window import raw_ends
from care_planner.years.outcome import Outcome
from care_planner.years.state import TreeYears

# What late work asks for (shade, no feed) is told for so many days after it; starting value.
TOLD_DAYS = 90


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
    seasons: defaultdict[tuple[Reason, float], list[int]] = defaultdict(list)
    asked: defaultdict[Reason | None, dict[str, Rule]] = defaultdict(dict)
    for (id, step), outcome in years.outcomes.items():
        season, cost = years.frame.season + step, COSTS[outcome.rule.loss]
        if step in (-1, 0):
            for told in _carried_over(id, outcome, years):
                seasons[told, cost].append(season)
        if step not in (0, 1):
            continue
        of_season = _of_season(id, outcome, years)
        if of_season is not None:
            seasons[of_season, cost].append(season)
        elif outcome.state == "asked":
            asked[outcome.reason][id] = outcome.rule
    found = [Notice(what, tuple(sorted(held)), hangs=cost) for (what, cost), held in seasons.items()]
    if years.tree.age is None:
        found.append(Notice(AgeNotTold(), hangs=COSTS["growth"]))
    if not years.rules.has_own_works:
        found.append(Notice(NoOwnWorks(years.rules.id), hangs=COSTS["growth"]))
    found += [Notice(what, hangs=COSTS["tree"]) for what in _where_to(years)]
    found += [Notice(what, hangs=COSTS["growth"]) for what in _still_weak(years)]
    for why, rules in asked.items():
        hangs = sum(COSTS[rule.loss] for rule in rules.values())
        found.append(Notice(FactNeeded(why, tuple(sorted(map(_short_name, rules.values())))), hangs=hangs))
    return found


def together(notices: Iterable[Notice]) -> list[Notice]:
    """Notices with what hangs on most first; a fact asked of several trees is one, whichever works wait."""
    facts: defaultdict[Reason | None, list[Notice]] = defaultdict(list)
    found = []
    for notice in notices:
        if isinstance(notice.what, FactNeeded):
            facts[notice.what.why].append(notice)
        else:
            found.append(notice)
    for why, held in facts.items():
        works = {work for one in held if isinstance(one.what, FactNeeded) for work in one.what.works}
        trees = sorted({tree for one in held for tree in one.trees})
        hangs = sum(one.weight for one in held) / max(1, len(trees))
        found.append(Notice(FactNeeded(why, tuple(sorted(works))), (), tuple(trees), hangs))
    return sorted(found, key=lambda notice: (-round(notice.weight, 6), not notice.trees, str(notice)))


def _of_season(id: str, outcome: Outcome, years: TreeYears) -> Reason | None:
    """What to tell of a work that comes, or does not, in one season."""
    roots = _after_late_roots(id, outcome, years)
    if roots is not None:
        return roots
    if outcome.state == "unknown":
        return WeatherNeeded(id, outcome.reason)
    if outcome.state == "by-eye":
        return AskedByEye(id, outcome.reason)
    if outcome.state == "away":
        return NobodyThere(id, outcome.reason)
    if outcome.rule.closes_after is not None and outcome.state == "planned":
        assert outcome.window is not None
        return GivenUp(id, outcome.window.exists, " ".join(outcome.rule.why.split()))
    if outcome.choice is not None and outcome.state != "asked":
        return ChoiceMade(id, tuple(choice_reasons(outcome)))
    return None


def _short_name(rule: Rule) -> str:
    name = rule.title.split(", ")[0]
    return name if name[1:2].isupper() else name[:1].lower() + name[1:]


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
        night_limit_c(outcome, years)
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
