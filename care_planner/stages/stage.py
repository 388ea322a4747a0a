"""One stage of one tree in one season: its requirement, what work did to it, what was seen."""

from collections.abc import Iterable, Iterator

import numpy as np

from care_planner.rulebook.effect import Effect
from care_planner.rulebook.moment import SEASON_STEP
from care_planner.rulebook.pack import TaxonRules
from care_planner.rulebook.taxon import Stage
from care_planner.spans import NEVER
from care_planner.stages.history import History
from care_planner.stages.moments import BLOOM, View, evaluate
from care_planner.stages.reach import Floats


def stage_days(
    stage: Stage,
    step: int,
    view: View,
    history: History,
    effects: Iterator[tuple[Effect, float]],
    buds: bool,
    before: Iterable[str] = (),
) -> Floats:
    """The day of the stage in every member, [members].

    `effects` are those of work on this stage in this season with the day of the work; `buds` says
    whether there are flower buds to open. It does not come before one of the stages `before` it that was
    seen.
    """
    season = view.frame.season + step
    seen = history.stages.get((stage.id, season))
    if seen is not None:
        return view.frame.everywhere(seen)
    if stage.flowering and not buds:
        return view.frame.everywhere(NEVER)
    days = _from_share(stage, step, view, history)
    if days is None:
        days = evaluate(stage.reached, step, view, pace=view.pace_of(stage.id, step))
        days = _worked_on(days, effects)
    seen_before = [history.stages.get((id, season), -np.inf) for id in before]
    days = np.maximum(days, max(seen_before, default=-np.inf))
    days = np.minimum(days, history.at_latest.get((stage.id, season), NEVER))
    not_yet = history.not_yet.get((stage.id, season))
    return days if not_yet is None else given_not_yet(days, not_yet)


def given_not_yet(days: Floats, not_yet: int) -> Floats:
    """The days, [members], given that it had not come on a day.

    Nobody's future moves but that of members who had it behind them. Those take, in their order, the days of
    the members that have it still before them: the distribution of all, given that it is later. Where none
    has, it is to be looked for from the next day on.
    """
    behind = np.flatnonzero(days <= not_yet)
    ahead = np.sort(days[np.isfinite(days) & (days > not_yet)])
    if not ahead.size:
        return np.where(days <= not_yet, not_yet + 1.0, days)
    in_order = behind[np.argsort(days[behind], kind="stable")]
    shares = (np.arange(behind.size) + 0.5) / max(behind.size, 1)
    found = days.copy()
    found[in_order] = ahead[(shares * ahead.size).astype(np.int64)]
    return found


def _worked_on(days: Floats, effects: Iterator[tuple[Effect, float]]) -> Floats:
    for effect, day in effects:
        if effect.sets_back is not None:
            days = np.where(days > day, days + effect.sets_back.days, days)
        elif effect.ends_stage is not None:
            days = np.minimum(days, day)
    return days


def _from_share(stage: Stage, step: int, view: View, history: History) -> Floats | None:
    """The first flower reckoned back from the first note of a share open."""
    frame = view.frame
    notes = history.opened.get(frame.season + step, ())
    curve = view.curve
    if curve is None or stage.id != curve.since or not notes:
        return None
    day, share = min(notes)
    running = view.weather(step).running(curve.by)
    needs = curve.warmth_at(share) * view.pace_of(BLOOM, step)
    ends = frame.everywhere(day + 1 - frame.first_day)
    earliest = max(0, frame.start_of(step) - frame.first_day)
    found = np.maximum(running.last_leaving(frame.rows, ends, needs, earliest), earliest) + frame.first_day
    return np.asarray(np.minimum(found, day))


def effects_on(stage: str, step: int, rules: TaxonRules) -> Iterator[tuple[str, int, Effect]]:
    """Rule, step of that rule's season and effect, for every effect that may touch a stage at a step."""
    for rule, effect in rules.touching.get(stage, ()):
        yield rule, step - SEASON_STEP[effect.season], effect
