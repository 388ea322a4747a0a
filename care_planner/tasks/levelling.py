"""Works of a whole plan laid into the hours that people told, and what did not fit.

Works that have a free choice of days in their windows are laid; what is set by a risk or lasts for a time
stays where it is and takes its minutes. Hours are those for works: watering and the walk are beside them.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from care_planner.rulebook.rule import Loss, WithinRisk
from care_planner.spans import monday_of
from care_planner.tasks.lasting import lasts
from care_planner.tasks.model import Task
from care_planner.years.hours.lay import lay
from care_planner.years.hours.problem import HoursProblem, Laid, Order
from care_planner.years.previous import SOON_DAYS, work_part
from care_planner.years.state import TreeYears
from care_planner.years.work import day_chance

# What missing a work costs against the others (starting values; only their ratios count).
COSTS: Mapping[Loss, float] = {
    "tree": 100.0,
    "flowers": 30.0,
    "growth": 10.0,
    "form": 5.0,
    "looks": 2.0,
    "nothing": 0.5,
}
# Minutes to get ready for a kind of work on a day (starting values).
SETUP_MINUTES = {"roots": 20.0, "pruning": 10.0, "wire": 10.0}
OTHER_SETUP_MINUTES = 5.0
# Entries of a day that one can live with: the walk is one of them.
MOST_KINDS = 3
# Windows are looked at for no more days than this.
LONGEST_DAYS = 120
MOVE_PRICE = 1.0

Lay = Callable[[HoursProblem], Laid]


@dataclass(frozen=True, eq=False)
class Room:
    """Days one work may be laid on: chances from `first` on, a day each; what it comes after, with gaps."""

    part: str
    rule: str
    category: str
    loss: Loss
    minutes: int
    day: int
    stands: bool
    first: int
    chances: tuple[float, ...]
    after: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class Week:
    """Minutes of work wanted and there in one week, minutes left out, and the day on which an hour more would
    save most, with the expected loss that it saves."""

    monday: int
    wanted: int
    there: int
    left: int
    best_day: int
    saves: float


@dataclass(frozen=True, eq=False)
class Levelled:
    """Days laid by tree and part, the parts that found none, and weeks that hold more than their hours."""

    laid: Mapping[str, tuple[tuple[str, int], ...]] = field(default_factory=dict)
    left: Mapping[str, frozenset[str]] = field(default_factory=dict)
    weeks: tuple[Week, ...] = ()


NOT_LEVELLED = Levelled()


def rooms(years: TreeYears) -> list[Room]:
    """The works of a resolved tree that may be laid on several days."""
    found = []
    season, today = years.frame.season, years.shared.today
    for outcome in years.outcomes.values():
        rule, span, window = outcome.rule, outcome.may_lie, outcome.window
        free = rule.way == "work" and not lasts(rule) and not isinstance(rule.choose, WithinRisk)
        if outcome.state != "planned" or span is None or window is None or not free:
            continue
        first, last = span[0], min(span[1], span[0] + LONGEST_DAYS)
        part = work_part(rule.id, season + outcome.step, 1)
        before = years.previous.tasks.get(part)
        day = int(outcome.day)
        if before is not None and before.day == day <= today + SOON_DAYS:
            first = last = day  # published, and near
        chances = tuple(day_chance(rule, window, one) for one in range(first, last + 1))
        named = [(after.work, after.gap_days) for after in rule.after]
        named += [(id, rest.days) for rest in rule.rests for id in rest.after]
        after = tuple((work_part(id, season + outcome.step, 1), gap) for id, gap in named)
        minutes = getattr(rule.minutes, years.tree.size)
        stands = before is not None and before.day == day
        found.append(Room(part, rule.id, rule.kind, rule.loss, minutes, day, stands, first, chances, after))
    return found


def level(
    groups: Sequence[tuple[Sequence[str], Sequence[Room], Sequence[Task]]],
    minutes_on: Callable[[int], float],
    is_walk_day: Callable[[int], bool],
    span: range,
    how: Lay = lay,
) -> Levelled:
    """Lay the works of all trees. `groups` are (trees planned alike, their rooms, their tasks).

    `minutes_on` are the minutes for works on a day (ordinal), `span` the days planned for.
    """
    days = np.array([day for day in span if minutes_on(day) > 0], dtype=np.int64)
    rows = sorted((trees[0], room.part, trees, room) for trees, own, _ in groups for room in own)
    if not rows or not len(days):
        return NOT_LEVELLED
    problem = _problem(rows, days, groups, minutes_on, is_walk_day)
    answer = how(problem)
    laid: defaultdict[str, list[tuple[str, int]]] = defaultdict(list)
    left: defaultdict[str, set[str]] = defaultdict(set)
    for p, (_, part, trees, _) in enumerate(rows):
        chosen = np.repeat(days, answer.trees[p])
        for tree, day in zip(trees, chosen, strict=False):
            laid[tree].append((part, int(day)))
        for tree in trees[len(chosen) :]:
            left[tree].add(part)
    return Levelled(
        {tree: tuple(sorted(parts)) for tree, parts in laid.items()},
        {tree: frozenset(parts) for tree, parts in left.items()},
        _weeks(rows, problem, answer, minutes_on, days),
    )


_Row = tuple[str, str, Sequence[str], Room]


def _problem(
    rows: Sequence[_Row],
    days: np.ndarray,
    groups: Iterable[tuple[Sequence[str], Sequence[Room], Sequence[Task]]],
    minutes_on: Callable[[int], float],
    is_walk_day: Callable[[int], bool],
) -> HoursProblem:
    kinds = sorted({room.rule for *_, room in rows})
    category = {room.rule: room.category for *_, room in rows}
    column = {int(day): d for d, day in enumerate(days)}
    place = {(first, part): p for p, (first, part, _, _) in enumerate(rows)}
    loss = np.full((len(rows), len(days)), np.inf)
    for p, (*_, room) in enumerate(rows):
        inside = (days >= room.first) & (days < room.first + len(room.chances))
        chances = np.array(room.chances)[days[inside] - room.first]
        loss[p, inside] = COSTS[room.loss] * (1.0 - chances)
    longest = max(minutes_on(int(day)) for day in days)
    most = np.array([MOST_KINDS - 1 if is_walk_day(int(day)) else MOST_KINDS for day in days])
    capacity = np.array([minutes_on(int(day)) for day in days]) - _taken(groups, column, len(days))
    return HoursProblem(
        days=days,
        capacity=np.maximum(capacity, 0.0),
        most_kinds=most,
        kind=np.array([kinds.index(room.rule) for *_, room in rows]),
        count=np.array([len(trees) for _, _, trees, _ in rows]),
        # What takes longer than any day has is done on a day of its own, and the rest of it soon after.
        minutes=np.array([min(float(room.minutes), longest / 2) for *_, room in rows]),
        loss=loss,
        missed=np.array([COSTS[room.loss] * 1.05 for *_, room in rows]),
        stands=np.array([column.get(room.day, -1) if room.stands else -1 for *_, room in rows]),
        setup=np.array([SETUP_MINUTES.get(category[kind], OTHER_SETUP_MINUTES) for kind in kinds]),
        orders=tuple(
            Order(place[first, named], p, gap)
            for p, (first, _, _, room) in enumerate(rows)
            for named, gap in room.after
            if (first, named) in place and rows[place[first, named]][3].day <= room.day
        ),
        move_price=MOVE_PRICE,
    )


def _taken(
    groups: Iterable[tuple[Sequence[str], Sequence[Room], Sequence[Task]]],
    column: Mapping[int, int],
    days: int,
) -> np.ndarray:
    """Minutes of works that are not laid, on their days."""
    taken = np.zeros(days)
    for trees, own, tasks in groups:
        laid = {room.part for room in own}
        for task in tasks:
            if task.way == "work" and task.part not in laid and task.day in column:
                taken[column[task.day]] += len(trees) * task.minutes
    return taken


def _weeks(
    rows: Sequence[_Row],
    problem: HoursProblem,
    answer: Laid,
    minutes_on: Callable[[int], float],
    days: np.ndarray,
) -> tuple[Week, ...]:
    """Weeks in which more is wanted than fits: by the day each work had before it was laid."""
    wanted: defaultdict[int, float] = defaultdict(float)
    left: defaultdict[int, float] = defaultdict(float)
    for (_, _, trees, room), missing in zip(rows, answer.left(problem), strict=True):
        wanted[monday_of(room.day)] += room.minutes * len(trees)
        left[monday_of(room.day)] += room.minutes * int(missing)
    found = []
    for monday in sorted(wanted):
        of_week = np.flatnonzero((days >= monday) & (days < monday + 7))
        there = sum(minutes_on(int(days[d])) for d in of_week)
        if (wanted[monday] > there or left[monday]) and len(of_week):
            best = of_week[int(answer.prices[of_week].argmax())]
            saves = 60.0 * float(answer.prices[best])
            found.append(
                Week(monday, round(wanted[monday]), round(there), round(left[monday]), int(days[best]), saves)
            )
    return tuple(found)
