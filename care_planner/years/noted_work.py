"""The journal comes first: what a note of a work makes of it."""

from care_planner.rulebook.rule import Rule
from care_planner.spans import HALF_YEAR_DAYS
from care_planner.stages.members import quantile
from care_planner.windows.window import raw_ends
from care_planner.years.outcome import Outcome
from care_planner.years.reasons import (
    NotedDone,
    NotedSkipped,
)
from care_planner.years.risks import late_share
from care_planner.years.silence import outside_after
from care_planner.years.state import TreeYears


def noted_outcome(rule: Rule, step: int, years: TreeYears) -> Outcome | None:
    """Done or left undone, as noted; None where no note settles it."""
    key = (rule.id, years.frame.season + step)
    days = years.history.works.get(key)
    if key in years.history.skipped and days is None:
        return Outcome(rule, step, "lost", NotedSkipped())
    if rule.settled_by and days is None:
        days = _signs_of(rule, step, years)
    if days is None or rule.repeat is not None or outside_after(rule, step, days[-1], years) is not None:
        return None
    late = _late_after(rule, step, days[-1], years)
    share = late_share(rule, step, days[0], years)
    why = NotedDone(days[0])
    return Outcome(rule, step, "done", why, days[0], days[-1], late_after=late, late_share=share)


def _signs_of(rule: Rule, step: int, years: TreeYears) -> tuple[int, ...] | None:
    """The days on which a look was answered by a sign: from the season's midsummer to the next one's."""
    first = years.frame.start_of(step) + HALF_YEAR_DAYS
    season = years.frame.season + step
    days = [years.history.signs.get((sign, at)) for sign in rule.settled_by for at in (season, season + 1)]
    found = sorted(day for day in days if day is not None and first <= day < first + 2 * HALF_YEAR_DAYS)
    return tuple(found) or None


def _late_after(rule: Rule, step: int, day: int, years: TreeYears) -> float | None:
    """The day its window had closed in half the members, if that is asked for and before a day."""
    roots = rule.heavy and rule.kind == "roots"
    if not roots and rule.if_late is None and not any(effect.if_late for effect in rule.effects):
        return None
    closes = quantile(raw_ends(rule, step, years)[1], 0.5)
    return closes if closes < day else None
