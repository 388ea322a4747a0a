"""Works of a whole plan laid into the hours that people told, and what did not fit.

Works that have a free choice of days in their windows are laid; what is set by a risk or lasts for a time
stays where it is and takes its minutes. So do the daily watering and the walk, which come before any work.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from care_planner.rulebook.rule import Loss
from care_planner.spans import monday_of
from care_planner.tasks.left_out import LeftBecause, left_because
from care_planner.tasks.model import Task
from care_planner.tasks.rooms import Room
from care_planner.tasks.routine import routine_minutes
from care_planner.years.hours.lay import lay
from care_planner.years.hours.problem import SETUP_PRICE, HoursProblem, Laid, Order, with_rain

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
MOVE_PRICE = 1.0
# What a day that is nobody's favourite costs, as a part of the work's loss: a wish (starting value).
NOT_LIKED = 0.1

Lay = Callable[[HoursProblem], Laid]


@dataclass(frozen=True, slots=True)
class Week:
    """Minutes wanted in one week, of which `routine` are watering and the walk, and those there; minutes of
    works moved to other weeks and left out, of which one takes `too_long` for any of its days (0: none); and
    the day on which an hour more would save most, with the expected loss that it saves."""

    monday: int
    wanted: int
    routine: int
    there: int
    moved: int
    left: int
    too_long: int
    best_day: int
    saves: float


@dataclass(frozen=True, eq=False)
class TimeThere:
    """The days in a plan's `span` (ordinals): people's `minutes` on a day, the day of the walk in the week of
    a Monday, whether somebody likes to work on a day, and the share of wet days ([days of the span])."""

    span: range
    minutes: Callable[[int], float]
    walk_day: Callable[[int], int | None]
    likes: Callable[[int], bool]
    wet: np.ndarray

    def is_walk_day(self, day: int) -> bool:
        return self.walk_day(monday_of(day)) == day


@dataclass(frozen=True, eq=False)
class Levelled:
    """Days laid by tree and part, the parts that found none, and weeks that hold more than their hours."""

    laid: Mapping[str, tuple[tuple[str, int], ...]] = field(default_factory=dict)
    left: Mapping[str, frozenset[str]] = field(default_factory=dict)
    why: Mapping[str, LeftBecause] = field(default_factory=dict)  # of a part left out, by tree/part
    weeks: tuple[Week, ...] = ()


NOT_LEVELLED = Levelled()


def level(
    groups: Sequence[tuple[Sequence[str], Sequence[Room], Sequence[Task]]],
    time: TimeThere,
    how: Lay = lay,
) -> Levelled:
    """Lay the works of all trees. `groups` are (trees planned alike, their rooms, their tasks)."""
    days = np.array([day for day in time.span if time.minutes(day) > 0], dtype=np.int64)
    rows = sorted((trees[0], room.part, trees, room) for trees, own, _ in groups for room in own)
    if not rows or not len(days):
        return NOT_LEVELLED
    hours = np.array([time.minutes(int(day)) for day in days])
    counted = [(len(trees), tasks) for trees, _, tasks in groups]
    routine = routine_minutes(counted, days.tolist(), hours, time.walk_day)
    taken = _taken(groups, {int(day): d for d, day in enumerate(days)}, len(days))
    problem = _problem(rows, days, hours - routine, taken, _others(groups, days, time), time)
    answer = how(problem)
    laid: defaultdict[str, list[tuple[str, int]]] = defaultdict(list)
    left: defaultdict[str, set[str]] = defaultdict(set)
    why: dict[str, LeftBecause] = {}
    for p, (_, _, trees, room) in enumerate(rows):
        chosen = np.repeat(days, answer.trees[p])
        for tree, day in zip(trees, chosen, strict=False):
            laid[tree] += [(part, int(day)) for part in room.parts]
        for tree in trees[len(chosen) :]:
            left[tree].update(room.parts)
            why |= dict.fromkeys((f"{tree}/{part}" for part in room.parts), left_because(problem, answer, p))
    return Levelled(
        {tree: tuple(sorted(parts)) for tree, parts in laid.items()},
        {tree: frozenset(parts) for tree, parts in left.items()},
        why,
        _weeks(rows, problem, answer, hours, routine, taken),
    )


_Row = tuple[str, str, Sequence[str], Room]


def _problem(
    rows: Sequence[_Row],
    days: np.ndarray,
    free: np.ndarray,
    taken: np.ndarray,
    others: np.ndarray,
    time: TimeThere,
) -> HoursProblem:
    kinds = sorted({room.rule for *_, room in rows})
    category = {room.rule: room.category for *_, room in rows}
    column = {int(day): d for d, day in enumerate(days)}
    place = {(first, part): p for p, (first, _, _, room) in enumerate(rows) for part in room.parts}
    liked = np.array([time.likes(int(day)) for day in days])
    loss = np.full((len(rows), len(days)), np.inf)
    for p, (*_, room) in enumerate(rows):
        inside = (days >= room.first) & (days < room.first + len(room.chances))
        chances = np.array(room.chances)[days[inside] - room.first]
        loss[p, inside] = COSTS[room.loss] * (1.0 - chances)
        if not room.in_rain:
            loss[p] = with_rain(loss[p], time.wet[days - time.span.start], COSTS[room.loss])
        loss[p, ~liked] += NOT_LIKED * COSTS[room.loss]
    longest = float(free.max())
    kind = np.array([kinds.index(room.rule) for *_, room in rows])
    setup = np.array([SETUP_MINUTES.get(category[rule], OTHER_SETUP_MINUTES) for rule in kinds])
    return HoursProblem(
        days=days,
        capacity=np.maximum(free - taken, 0.0),
        most_kinds=np.maximum(MOST_KINDS - others, 1),
        kind=kind,
        count=np.array([len(trees) for _, _, trees, _ in rows]),
        # What takes longer than any day has is done on a day of its own, and the rest of it soon after.
        minutes=np.array([min(float(room.minutes), longest / 2) for *_, room in rows]),
        loss=loss,
        # The wish to get ready once must leave no work out that its days have time for.
        missed=np.array([COSTS[room.loss] * 1.05 for *_, room in rows]) + SETUP_PRICE * setup[kind],
        stands=np.array([column.get(room.stands, -1) for *_, room in rows]),
        setup=setup,
        orders=tuple(
            Order(place[first, named], p, gap)
            for p, (first, _, _, room) in enumerate(rows)
            for named, gap in room.after
            if place.get((first, named), p) != p and rows[place[first, named]][3].day <= room.day
        ),
        move_price=MOVE_PRICE,
    )


def _taken(
    groups: Iterable[tuple[Sequence[str], Sequence[Room], Sequence[Task]]],
    column: Mapping[int, int],
    days: int,
) -> np.ndarray:
    """Minutes of works that are not laid, on their days; on each day of those that go on for a time."""
    taken = np.zeros(days)
    for trees, own, tasks in groups:
        laid = {part for room in own for part in room.parts}
        for task in tasks:
            if task.way == "work" and task.part not in laid:
                for day in range(task.day, (task.until or task.day) + 1):
                    if day in column:
                        taken[column[day]] += len(trees) * task.minutes
    return taken


def _others(
    groups: Iterable[tuple[Sequence[str], Sequence[Room], Sequence[Task]]], days: np.ndarray, time: TimeThere
) -> np.ndarray:
    """Entries of each day [days] beside the works that are laid: the walk, works that stay where they are,
    what begins or ends."""
    told: defaultdict[int, set[str]] = defaultdict(set)
    begins: dict[str, int] = {}
    ends: dict[str, int] = {}
    for _, own, tasks in groups:
        laid = {part for room in own for part in room.parts}
        for task in tasks:
            if task.way == "work" and task.part not in laid:
                told[task.day].add(task.together or task.rule)
            if task.way == "watch":
                name = f"{task.rule}/{task.season}"
                begins[name] = min(begins.get(name, task.day), task.day)
                ends[name] = max(ends.get(name, 0), task.until or 0)
    for edge in (begins, ends):
        for name, day in edge.items():
            told[day].add(name)
    return np.array([len(told[int(day)]) + time.is_walk_day(int(day)) for day in days])


def _weeks(
    rows: Sequence[_Row],
    problem: HoursProblem,
    answer: Laid,
    hours: np.ndarray,
    routine: np.ndarray,
    taken: np.ndarray,
) -> tuple[Week, ...]:
    """Weeks in which more is wanted than fits: by the day each work had before it was laid."""
    wanted: defaultdict[int, float] = defaultdict(float)
    moved: defaultdict[int, float] = defaultdict(float)
    left: defaultdict[int, float] = defaultdict(float)
    too_long: defaultdict[int, int] = defaultdict(int)
    days = problem.days
    mondays = np.array([monday_of(int(day)) for day in days])
    for p, ((_, _, trees, room), missing) in enumerate(zip(rows, answer.left(problem), strict=True)):
        monday = monday_of(room.day)
        wanted[monday] += room.minutes * len(trees)
        moved[monday] += room.minutes * int(answer.trees[p, mondays != monday].sum())
        left[monday] += room.minutes * int(missing)
        if missing and left_because(problem, answer, p) == "too-long":
            too_long[monday] = max(too_long[monday], room.minutes)
    found = []
    for monday in sorted(wanted):
        of_week = np.flatnonzero(mondays == monday)
        there, first = hours[of_week].sum(), routine[of_week].sum()
        asked = wanted[monday] + first + taken[of_week].sum()
        if (asked > there or left[monday]) and len(of_week):
            best = of_week[int(answer.prices[of_week].argmax())]
            week = Week(
                monday,
                wanted=round(asked),
                routine=round(first),
                there=round(there),
                moved=round(moved[monday]),
                left=round(left[monday]),
                too_long=too_long[monday],
                best_day=int(days[best]),
                saves=60.0 * float(answer.prices[best]),
            )
            found.append(week)
    return tuple(found)
