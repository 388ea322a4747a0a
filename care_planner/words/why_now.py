"""Why a work stands on its day, in sentences: why now, why not earlier, what would change it."""

from collections.abc import Iterator

from care_planner.rulebook.condition import FACTS
from care_planner.rulebook.moment import Moment
from care_planner.spans import NEVER
from care_planner.tasks.links import (
    ColdNights,
    CountsOn,
    DayChosen,
    EndsStage,
    ForFacts,
    RuleWhy,
    SetsBack,
    StageDates,
    WindowEnds,
)
from care_planner.tasks.model import Task
from care_planner.words.days import short_day
from care_planner.words.fates import why_not


def sentences(task: Task) -> Iterator[str]:
    """Three sentences for a work that is planned; none for one that is done."""
    if task.done:
        return
    yield f"Why now: {_now(task)}"
    earlier = _not_earlier(task)
    if earlier:
        yield f"Why not earlier: {earlier}"
    yield f"What would change it: {_changes(task)}"


def _now(task: Task) -> str:
    why = next((link.text for link in task.reasons if isinstance(link, RuleWhy)), "")
    aim = next((why_not(link.aim) for link in task.reasons if isinstance(link, DayChosen)), "")
    words = f"{why.rstrip('.')}. " if why else ""
    window = task.window
    if window.opens is not None and window.closes is not None:
        words += f"The time for it is {short_day(window.opens)} to {short_day(window.closes)} in most years. "
    return f"{words}The day: {aim}." if aim else words.strip()


def _not_earlier(task: Task) -> str:
    window = task.window
    if window.opens is None or window.opens <= 0:
        return ""
    opens = next((link.opens for link in task.reasons if isinstance(link, WindowEnds)), None)
    named = _stages(opens)
    too_soon = f"{short_day(window.opens)} it is too soon in most years"
    for link in task.reasons:
        if isinstance(link, StageDates) and link.stage in named and link.season == task.season:
            if link.basis == "seen":
                return f"it waits for: {link.title}, seen on {short_day(link.day)}."
            if link.basis == "expected" and link.late < NEVER:
                span = f"likely between {short_day(link.early)} and {short_day(link.late)}"
                words = f"it waits for: {link.title}, {span}"
                alone = opens is not None and opens.kind == "stage"
                return f"{words}." if alone else f"{words}; before about {too_soon}."
    if any(isinstance(link, ColdNights) for link in task.reasons):
        return "the tree does well outside until the cold nights come."
    return f"before about {too_soon}."


def _stages(moment: Moment | None) -> frozenset[str]:
    """The stages an end of a window goes by."""
    if moment is None:
        return frozenset()
    parts = (*(moment.earliest or ()), *(moment.latest or ()))
    own = frozenset({moment.stage} if moment.stage is not None else ())
    return own.union(*(_stages(part) for part in parts))


def _changes(task: Task) -> str:
    opens = next((link.opens for link in task.reasons if isinstance(link, WindowEnds)), None)
    dated = (link for link in task.reasons if isinstance(link, StageDates) and link.stage in _stages(opens))
    stages = [link.title for link in dated if link.basis == "expected" and link.season == task.season]
    works = [link.other for link in task.reasons if isinstance(link, CountsOn | EndsStage | SetsBack)]
    parts = []
    if stages:
        parts.append(f"a note of what you see ({', '.join(dict.fromkeys(stages))})")
    if works:
        names = ", ".join(dict.fromkeys(other.work for other in works))
        parts.append(f"another day for {names}")
    for link in task.reasons:
        if isinstance(link, ForFacts):
            parts += [f"{FACTS[fact].words}, if it is no longer {value}" for fact, value in link.facts]
    if any(isinstance(link, ColdNights) for link in task.reasons):
        parts.append("a forecast of colder nights")
    parts.append(f"a note that it is done or skipped (did {task.rule}, skipped {task.rule})")
    return "; ".join(parts) + "."
