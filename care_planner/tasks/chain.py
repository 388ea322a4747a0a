"""Why a work stands where it stands: from the day back to the window, the rule, the stages, the weather."""

import math
from collections.abc import Iterator

import numpy as np

from care_planner.rulebook.condition import Condition
from care_planner.rulebook.moment import SEASON_STEP, Moment
from care_planner.spans import NEVER
from care_planner.stages.members import FEW_YEARS, known_years, quantile, reached_share
from care_planner.tasks.links import (
    CountsOn,
    DoesNotCome,
    EndsStage,
    Forbids,
    ForFacts,
    GoalDecides,
    Needs,
    NoRoomIn,
    OnlyIf,
    OtherGoal,
    RestsAfter,
    RestsOn,
    RuleSource,
    RuleWhy,
    SetsBack,
    StageDates,
    WindowEnds,
)
from care_planner.tasks.risk_reasons import what_it_risks
from care_planner.windows.facts import NOT_TOLD
from care_planner.windows.reason import Reason
from care_planner.years.common import WeatherBehind
from care_planner.years.outcome import Outcome
from care_planner.years.state import TreeYears

# A learnt pace nearer to the taxon's than this is not spoken of: it is less than a day.
WORTH_TELLING = 0.015
# What people tell of a tree and may tell otherwise.
TOLD_FACTS = ("goal", "age", "condition")


def reasons(outcome: Outcome, years: TreeYears, weather: WeatherBehind) -> tuple[Reason, ...]:
    """Everything but the day itself, which differs between occurrences; each reason once."""
    found: list[Reason] = []
    for reason in _chain(outcome, years, weather):
        if reason not in found:
            found.append(reason)
    return tuple(found)


def _chain(outcome: Outcome, years: TreeYears, weather: WeatherBehind) -> Iterator[Reason]:
    rule = outcome.rule
    if outcome.choice is not None:
        yield from choice_reasons(outcome)
    yield RuleWhy(_on_one_line(rule.why))
    facts = tuple(_facts(outcome, years))
    if facts:
        yield ForFacts(facts)
    yield from what_it_risks(outcome, years)
    for id, done in outcome.provided:
        yield OnlyIf(id, years.rules.rules[id].title, done)
    yield from _window(outcome)
    if rule.needs:
        yield Needs(tuple(rule.needs))
    if rule.forbids:
        yield Forbids(tuple(rule.forbids))
    origin = years.rules.origins[rule.id]
    yield RuleSource(rule.id, origin.pack, bool(origin.changed_by), rule.source)
    for moment in (rule.opens, rule.closes):
        yield from _moments(moment, outcome.step, years)
    yield from _set_by(outcome, years)
    yield _basis(outcome, years, weather)


def _facts(outcome: Outcome, years: TreeYears) -> Iterator[tuple[str, str]]:
    """The facts told of the tree that the rule asks for, or by which it does not leave the tree out."""
    rule, facts = outcome.rule, years.all_facts(outcome.step)
    blocks = [block for block in rule.unless if isinstance(block, Condition)]
    for fact in TOLD_FACTS:
        value = str(facts[fact])
        asked = fact in rule.only.given()
        spared = any(value not in block.given().get(fact, [value]) for block in blocks)
        if (asked or spared) and value != NOT_TOLD:
            yield fact, value


def _on_one_line(text: str) -> str:
    return " ".join(text.split())


def _window(outcome: Outcome) -> Iterator[Reason]:
    rule, choice = outcome.rule, outcome.choice
    if outcome.window is None:
        return
    if choice is None:
        yield WindowEnds(rule.opens, rule.closes)
    elif choice.work == "before-it-closes":
        yield WindowEnds(None, rule.closes, choice.lasts_days)
    else:
        yield WindowEnds(rule.opens, None, choice.lasts_days)
    for rest in rule.rests:
        yield RestsAfter(rest.days, tuple(rest.after))


def choice_reasons(outcome: Outcome) -> Iterator[NoRoomIn | GoalDecides | OtherGoal]:
    """The choice where there's no room: what the goal makes of it, and what the others would cost."""
    assert outcome.choice is not None
    yield NoRoomIn(outcome.room)
    yield GoalDecides(outcome.choice.says, outcome.choice.costs)
    for other in outcome.rule.no_room:
        if other is not outcome.choice:
            yield OtherGoal(tuple(other.goal), other.says, other.costs)


def _moments(moment: Moment, step: int, years: TreeYears) -> Iterator[Reason]:
    for part in moment.walk():
        at = step + SEASON_STEP[part.season]
        stage = part.stage
        if part.share_open is not None and years.curve is not None:
            stage = years.curve.since
        if stage is not None:
            yield stage_dates(stage, at, years)
        elif part.work is not None:
            outcome = years.outcomes.get((part.work, at))
            if outcome is not None and outcome.counts:
                yield CountsOn(outcome.as_other())
            elif outcome is not None:
                yield DoesNotCome(part.work, outcome.reason)


def stage_dates(id: str, step: int, years: TreeYears) -> StageDates:
    """A stage's dates: seen, or expected with the 80 % span."""
    stage = years.rules.stages[id]
    season = years.frame.season + step
    of = (id, stage.title, stage.bbch, season)
    seen = years.history.stages.get((id, season))
    if seen is not None:
        return StageDates(*of, "seen", seen)
    days = years.stage(id, step)
    middle = quantile(days, 0.5)
    if np.isnan(middle):
        return StageDates(*of, "unknown")
    if middle == NEVER:
        return StageDates(*of, "never", reached=reached_share(days))
    early, late = quantile(days, 0.1), quantile(days, 0.9)
    apart = _warmth_apart(id, season, years)
    return StageDates(*of, "expected", middle, early, late, needs=stage.reached, warmth_apart=apart)


def _warmth_apart(id: str, season: int, years: TreeYears) -> float | None:
    """What notes taught of the tree's pace for a stage, where that is worth telling."""
    mean, _ = years.belief.of(id, season, years.rules.taxon.pace)
    if years.rules.stages[id].reached.warmth is None or abs(mean) < WORTH_TELLING:
        return None
    return math.expm1(mean)


def _set_by(outcome: Outcome, years: TreeYears) -> Iterator[Reason]:
    """Works whose effects moved the stages of this season."""
    for other, effect in years.effects_on_stages(outcome.step):
        if other.rule.id == outcome.rule.id or not np.isfinite(other.day):
            continue
        if effect.ends_stage is not None:
            yield EndsStage(other.as_other(), effect.ends_stage)
        if effect.sets_back is not None:
            back = effect.sets_back
            yield SetsBack(other.as_other(), tuple(back.stages), back.days)


def _basis(outcome: Outcome, years: TreeYears, weather: WeatherBehind) -> RestsOn:
    spread = years.rules.taxon.pace.spread
    if outcome.window is not None:
        count = known_years(outcome.window.opens, years.frame.rows)
        if count < FEW_YEARS:
            return RestsOn(weather, spread, count)
    return RestsOn(weather, spread)
