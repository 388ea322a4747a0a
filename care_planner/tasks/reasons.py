"""Why a work stands where it stands: from the day back to the window, the rule, the stages, the weather."""

import math
from collections.abc import Iterator

import numpy as np

from care_planner.rulebook.moment import SEASON_STEP, Moment
from care_planner.spans import NEVER
from care_planner.stages.members import FEW_YEARS, known_years, quantile, reached_share
from care_planner.windows.words import day_words, moment_words, short_day
from care_planner.years.outcome import Outcome
from care_planner.years.state import TreeYears

# A learnt pace nearer to the taxon's than this is not spoken of: it is less than a day.
WORTH_TELLING = 0.015


def reasons(outcome: Outcome, years: TreeYears, weather: str) -> tuple[str, ...]:
    """Everything but the day itself, which differs between occurrences; each reason once."""
    return tuple(dict.fromkeys(_chain(outcome, years, weather)))


def _chain(outcome: Outcome, years: TreeYears, weather: str) -> Iterator[str]:
    rule = outcome.rule
    if outcome.choice is not None:
        yield from choice_words(outcome)
    yield f"Why: {' '.join(rule.why.split())}"
    yield from _window(outcome)
    for text, words in (("Needs", rule.needs), ("Not with", rule.forbids)):
        if words:
            yield f"{text}: {'; '.join(words)}"
    yield f"Rule: {rule.id} of the pack {_origin(outcome, years)}. Source: {rule.source}"
    for moment in (rule.opens, rule.closes):
        yield from _moments(moment, outcome.step, years)
    yield from _set_by(outcome, years)
    yield _basis(outcome, years, weather)


def _origin(outcome: Outcome, years: TreeYears) -> str:
    origin = years.rules.origins[outcome.rule.id]
    return f"{origin.pack}, changed by your own rules" if origin.changed_by else origin.pack


def _window(outcome: Outcome) -> Iterator[str]:
    rule, window = outcome.rule, outcome.window
    if window is None:
        return
    if outcome.choice is not None and outcome.choice.work == "before-it-closes":
        yield f"Window: the {outcome.choice.lasts_days} days up to {moment_words(rule.closes)}"
    elif outcome.choice is not None:
        yield f"Window: {outcome.choice.lasts_days} days from {moment_words(rule.opens)}"
    else:
        yield f"Window: opens {_at(rule.opens)}; closes {_at(rule.closes)}"
    for rest in rule.rests:
        yield f"Rest: {rest.days} days after {' or '.join(rest.after)}"


def _at(moment: Moment) -> str:
    return f"{moment_words(moment)}"


def choice_words(outcome: Outcome) -> Iterator[str]:
    """The choice where there's no room: what the goal makes of it, and what the others would cost."""
    assert outcome.choice is not None
    yield (
        f"No room in most years: it would close before it opens in all but {outcome.room:.0%} of the "
        "weather years"
    )
    yield f"The goal decides: {outcome.choice.says}; it costs {outcome.choice.costs}"
    for other in outcome.rule.no_room:
        if other is not outcome.choice:
            yield f"With the goal {' or '.join(other.goal)}: {other.says}; it costs {other.costs}"


def _moments(moment: Moment, step: int, years: TreeYears) -> Iterator[str]:
    for part in moment.walk():
        at = step + SEASON_STEP[part.season]
        stage = part.stage
        if part.share_open is not None and years.curve is not None:
            stage = years.curve.since
        if stage is not None:
            yield stage_words(stage, at, years)
        elif part.work is not None:
            outcome = years.outcomes.get((part.work, at))
            if outcome is not None and outcome.counts:
                yield f"Counts on {part.work}: {outcome.state} for {day_words(outcome.day)}"
            elif outcome is not None:
                yield f"{part.work} does not come: {outcome.reason}"


def stage_words(id: str, step: int, years: TreeYears) -> str:
    """A stage's dates: seen, or expected with the 80 % span."""
    stage = years.rules.stages[id]
    season = years.frame.season + step
    title = f"{stage.title} (BBCH {stage.bbch}) {season}"
    seen = years.history.stages.get((id, season))
    if seen is not None:
        return f"Stage: {title} seen on {day_words(seen)}"
    days = years.stage(id, step)
    middle = quantile(days, 0.5)
    if np.isnan(middle):
        return f"Stage: {title} unknown, for want of weather"
    if middle == NEVER:
        return f"Stage: {title} not expected ({reached_share(days):.0%} of weather years)"
    early, late = quantile(days, 0.1), quantile(days, 0.9)
    until = day_words(late) if late < NEVER else "never"
    needs = moment_words(stage.reached)
    span = f"{day_words(middle)} (80 %: {short_day(early)} to {until})"
    return f"Stage: {title} expected {span}, from {needs}{_learnt_words(id, season, years)}"


def _learnt_words(id: str, season: int, years: TreeYears) -> str:
    """What notes taught of the tree's pace for a stage, where that is worth telling."""
    mean, _ = years.belief.of(id, season, years.rules.taxon.pace)
    if years.rules.stages[id].reached.warmth is None or abs(mean) < WORTH_TELLING:
        return ""
    apart = f"{abs(math.expm1(mean)):.0%} {'less' if mean < 0 else 'more'}"
    return f"; by its notes and its neighbours' it needs {apart} warmth than its taxon"


def _set_by(outcome: Outcome, years: TreeYears) -> Iterator[str]:
    """Works whose effects moved the stages of this season."""
    for other, effect in years.effects_in(outcome.step):
        if other.rule.id == outcome.rule.id:
            continue
        if effect.ends_stage is not None and np.isfinite(other.day):
            when = f"{other.state} for {day_words(other.day)}"
            yield f"{other.rule.id} ({when}) ends it early: {effect.ends_stage}"
        if effect.sets_back is not None and np.isfinite(other.day):
            stages = " and ".join(effect.sets_back.stages)
            when = f"{other.state} for {day_words(other.day)}"
            yield f"{other.rule.id} ({when}) sets {stages} back by up to {effect.sets_back.days} days"


def _basis(outcome: Outcome, years: TreeYears, weather: str) -> str:
    spread = years.rules.taxon.pace.spread
    words = f"Weather: {weather}; trees of this taxon differ by about {spread:.0%} in the warmth they need"
    if outcome.window is not None:
        count = known_years(outcome.window.opens, years.frame.rows)
        if count < FEW_YEARS:
            words = f"Few years: this date rests on {count} weather years. {words}"
    return words
