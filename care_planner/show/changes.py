"""What a new plan changes in the one published before: missed, moved, gone, new; by how much and why."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from care_planner.plan import Plan
from care_planner.rulebook.pack import Rulebook
from care_planner.show.plan import wrapped
from care_planner.tasks.model import Task
from care_planner.words.days import day_words, short_day
from care_planner.words.fates import why_not
from care_planner.words.moves import cause_words
from care_planner.years.previous import PreviousPlan, PreviousTask

Grouped = defaultdict[str, list[str]]


@dataclass(frozen=True, slots=True)
class ChangeGroup:
    """One kind of change (missed, moved, gone, new) and a line for each, not wrapped."""

    title: str
    lines: tuple[str, ...]


def change_lines(previous: PreviousPlan, plan: Plan, rulebook: Rulebook) -> Iterator[str]:
    """Lines of 80 columns; nothing where there was no plan before or nothing changed."""
    for group in change_groups(previous, plan, rulebook):
        yield ""
        yield group.title
        for line in group.lines:
            yield from wrapped(line, "  ", "    ")


def change_groups(previous: PreviousPlan, plan: Plan, rulebook: Rulebook) -> Iterator[ChangeGroup]:
    """What changed; nothing where there was no plan before or nothing changed."""
    if not previous.trees:
        return
    now = {task.key: task for task in (*plan.tasks, *plan.done)}
    sections = (
        ("Missed, said once", _missed(previous, plan, now, rulebook)),
        ("Moved", _moved(previous, plan)),
        ("Gone", _gone(previous, plan, now)),
        ("New", _new(previous, plan)),
    )
    for title, grouped in sections:
        if grouped:
            lines = (f"{', '.join(sorted(set(trees)))}: {words}" for words, trees in sorted(grouped.items()))
            yield ChangeGroup(title, tuple(lines))


def _day(day: int, plan: Plan) -> str:
    """A day, with its year where that is not the one planned from."""
    this_year = date.fromordinal(day).year == date.fromordinal(plan.today).year
    return short_day(day) if this_year else day_words(day)


def _before(previous: PreviousPlan, plan: Plan) -> Iterator[tuple[str, str, PreviousTask]]:
    for tree, told in previous.trees.items():
        if tree in plan.fates:
            for part, task in told.tasks.items():
                yield tree, part, task


def _missed(
    previous: PreviousPlan, plan: Plan, now: Mapping[str, Task], rulebook: Rulebook
) -> Mapping[str, list[str]]:
    """Work whose window closed since the last plan without a note: what it costs a tree of its taxon."""
    found: Grouped = defaultdict(list)
    for tree, part, task in _before(previous, plan):
        fate = plan.fates[tree].get((task.rule, task.season))
        single = task.kind == "work" and part.endswith("/1/work")
        if single and task.day < plan.today and fate is not None and fate.state == "past":
            rule = rulebook.taxa[plan.taxa[tree]].rules.get(task.rule)
            cost = rule.missed if rule is not None else None
            words = f"{task.title}, due {_day(task.day, plan)}: no note says that it was done"
            found[f"{words}. {cost}" if cost else words].append(tree)
    return found


def _moved(previous: PreviousPlan, plan: Plan) -> Mapping[str, list[str]]:
    found: Grouped = defaultdict(list)
    told = set()
    for task in plan.tasks:
        series = (task.tree, task.rule, task.season, task.kind)
        before = previous.of(task.tree).tasks.get(task.part)
        if before is not None and before.day != task.day and series not in told:
            told.add(series)  # of work that comes again and again the first round speaks for all
            days = task.day - before.day
            assert task.move is not None
            reason = cause_words(task.move.cause)
            unit = "day" if abs(days) == 1 else "days"
            words = f"{task.title} to {_day(task.day, plan)} ({days:+d} {unit}): {reason}"
            found[words].append(task.tree)
    return found


def _gone(previous: PreviousPlan, plan: Plan, now: Mapping[str, Task]) -> Mapping[str, list[str]]:
    found: Grouped = defaultdict(list)
    told: set[tuple[str, str, int]] = set()
    for tree, part, task in _before(previous, plan):
        if task.kind != "work" or task.day < plan.today or f"{tree}/{part}" in now:
            continue
        fate = plan.fates[tree].get((task.rule, task.season))
        if fate is not None and (tree, task.rule, task.season) not in told:
            told.add((tree, task.rule, task.season))
            found[f"{task.title} of {_day(task.day, plan)}: {why_not(fate.reason)}"].append(tree)
    return found


def _new(previous: PreviousPlan, plan: Plan) -> Mapping[str, list[str]]:
    """Works that were not in the last plan at all, on the first of their days."""
    found: Grouped = defaultdict(list)
    known = {
        (tree, task.rule, task.season)
        for tree, told in previous.trees.items()
        for task in told.tasks.values()
    }
    horizon = max((t.day for told in previous.trees.values() for t in told.tasks.values()), default=0)
    for task in plan.tasks:
        key = (task.tree, task.rule, task.season)
        if task.kind == "work" and key not in known and task.day <= horizon:
            known.add(key)
            found[f"{task.title} on {_day(task.day, plan)}"].append(task.tree)
    return found
