"""What a person has to do and when: rounds of work, the weekly walk, what the weather of the day decides, and
what holds for a time. Made once from a plan's tasks; every view shows parts of it."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from care_planner.rulebook.rule import Loss
from care_planner.spans import monday_of
from care_planner.tasks.model import Task
from care_planner.tasks.rounds import Round, by_tree, dearest, in_order, last_until, rounds, urgency

# Each further tree of what is done in passing takes this part of the first one's minutes: what it is looked
# at with is in hand (starting value).
ONE_MORE_IN_PASSING = 0.2

# A watch that began so many days before its first entry was on before the plan.
DAYS_BEFORE_TOLD = 7

Minutes = TypeVar("Minutes", float, NDArray[np.float64])


def minutes_in_passing(total: Minutes, longest: Minutes) -> Minutes:
    """Minutes of one thing looked at or done on several trees in passing, of the sum of their minutes and the
    longest of them."""
    return longest + ONE_MORE_IN_PASSING * (total - longest)


@dataclass(frozen=True, slots=True)
class WalkItem:
    """One thing to look at or do in passing, for the trees that are due in that week; one task a tree."""

    tasks: tuple[Task, ...]

    @property
    def first(self) -> Task:
        return self.tasks[0]

    @property
    def title(self) -> str:
        return self.first.title

    @property
    def trees(self) -> frozenset[str]:
        return frozenset(task.tree for task in self.tasks)

    @property
    def minutes(self) -> float:
        minutes = [task.minutes for task in self.tasks]
        return minutes_in_passing(float(sum(minutes)), float(max(minutes)))


@dataclass(frozen=True, slots=True)
class Walk:
    """The bench walk of one week; `monday` is its first day, `day` the day it is on."""

    monday: int
    day: int
    items: tuple[WalkItem, ...]

    @property
    def key(self) -> str:
        """Its identity: the week, since there is one walk in each and none moves to another."""
        year, week, _ = date.fromordinal(self.monday).isocalendar()
        return f"walk/{year}-{week:02d}"

    @property
    def minutes(self) -> int:
        return round(sum(item.minutes for item in self.items))


@dataclass(frozen=True, slots=True)
class Watch:
    """The weather of the day decides, from `first` to `last` (None: no end in most years).

    `number` counts the times of one season, so that heat that comes twice is told twice.
    """

    tasks: tuple[Task, ...]
    number: int

    @property
    def rule(self) -> str:
        return self.tasks[0].rule

    @property
    def title(self) -> str:
        return self.tasks[0].title

    @property
    def loss(self) -> Loss:
        return dearest(self.tasks)

    @property
    def first(self) -> int:
        return min(task.day for task in self.tasks)

    @property
    def last(self) -> int | None:
        return None if any(task.until is None for task in self.tasks) else last_until(self.tasks)

    @property
    def began(self) -> int | None:
        """The day by which it had begun before anything was planned, where that is worth telling."""
        opens = [task.window.opens for task in self.tasks if task.window.opens is not None]
        day = min(opens, default=self.first)
        return day if day < self.first - DAYS_BEFORE_TOLD else None

    @property
    def key(self) -> str:
        """Its identity: the work and the season, whichever trees it holds for."""
        task = self.tasks[0]
        return f"watch/{task.rule}/{task.season}/{self.number}"


@dataclass(frozen=True, slots=True)
class Standing:
    """What holds for some trees for a time, and has no day of its own. A tree a task."""

    tasks: tuple[Task, ...]

    @property
    def first(self) -> int:
        return min(task.day for task in self.tasks)

    @property
    def last(self) -> int | None:
        return None if any(task.until is None for task in self.tasks) else last_until(self.tasks)


@dataclass(frozen=True, slots=True)
class Agenda:
    """All of a plan, or of a span of it: each list by day, then the dearer and sooner closing first."""

    rounds: tuple[Round, ...]
    walks: tuple[Walk, ...]
    watches: tuple[Watch, ...]
    standing: tuple[Standing, ...]
    left: tuple[Round, ...] = ()  # works for which nobody has time, on the days they would have had

    def between(self, first: int, end: int) -> "Agenda":
        """What touches the days from `first` (in) to `end` (out): also what goes on over them."""
        return Agenda(
            tuple(one for one in self.rounds if _touches(one.day, one.until or one.day, first, end)),
            tuple(one for one in self.walks if first <= one.day < end),
            tuple(one for one in self.watches if _touches(one.first, one.last, first, end)),
            tuple(one for one in self.standing if _touches(one.first, one.last, first, end)),
            tuple(one for one in self.left if first <= one.day < end),
        )


def agenda(tasks: Iterable[Task], walk_day: Callable[[int], int | None]) -> Agenda:
    """Tasks gathered. `walk_day` says of a Monday (ordinal) on which day of its week the walk is.

    The order of `tasks` does not matter. Nothing is left out: each task is in exactly one of the four, but
    for a second look at the same thing on the same tree in one week, which is one.
    """
    ways: defaultdict[str, list[Task]] = defaultdict(list)
    for task in tasks:
        ways["left" if task.left else task.way].append(task)
    routine = [task for task in ways["walk"] if not task.done]
    return Agenda(
        tuple(rounds(ways["work"])),
        tuple(_walks(routine, [task.day for task in ways["left"]], walk_day)),
        tuple(_watches(task for task in ways["watch"] if not task.done)),
        tuple(_standing(task for task in ways["standing"] if not task.done)),
        tuple(rounds(ways["left"])),
    )


def _touches(start: int, last: int | None, first: int, end: int) -> bool:
    return start < end and (last is None or last >= first)


def _walks(
    tasks: Iterable[Task], left_on: Iterable[int], walk_day: Callable[[int], int | None]
) -> list[Walk]:
    """One a week with anything to look at, or with works left out, which it names."""
    weeks: defaultdict[int, dict[tuple[str, str, str, str], Task]] = defaultdict(dict)
    for task in sorted(tasks, key=lambda task: (task.day, by_tree(task))):
        weeks[monday_of(task.day)].setdefault((task.rule, task.title, task.kind, task.tree), task)
    for day in left_on:
        weeks[monday_of(day)]
    found = []
    for monday, held in sorted(weeks.items()):
        items: defaultdict[tuple[str, str, str], list[Task]] = defaultdict(list)
        for (rule, title, kind, _), task in held.items():
            # Looks for one stage are one thing, whichever works they settle.
            items["" if kind == "look" else rule, title, kind].append(task)
        gathered = [WalkItem(in_order(same)) for same in items.values()]
        gathered.sort(key=lambda item: (urgency(item.tasks), item.title, item.first.key))
        first = min((task.day for task in held.values()), default=monday)
        found.append(Walk(monday, walk_day(monday) or first, tuple(gathered)))
    return found


def _watches(tasks: Iterable[Task]) -> list[Watch]:
    """The times a work is watched for: those of several trees that touch one another are one."""
    kinds: defaultdict[tuple[str, int], list[Task]] = defaultdict(list)
    for task in tasks:
        kinds[task.rule, task.season].append(task)
    found = []
    for held in kinds.values():
        for number, same in enumerate(_touching(held), start=1):
            found.append(Watch(in_order(same), number))
    return sorted(found, key=lambda one: (one.first, urgency(one.tasks), one.title, one.key))


def _touching(tasks: Sequence[Task]) -> list[list[Task]]:
    """Tasks in groups whose days follow one another without a break."""
    groups: list[list[Task]] = []
    last = float("-inf")
    for task in sorted(tasks, key=lambda task: (task.day, by_tree(task))):
        if task.day <= last + 1:
            groups[-1].append(task)
        else:
            groups.append([task])
        last = max(last, float("inf") if task.until is None else task.until)
    return groups


def _standing(tasks: Iterable[Task]) -> list[Standing]:
    kinds: defaultdict[tuple[str, str, int], list[Task]] = defaultdict(list)
    for task in tasks:
        kinds[task.rule, task.title, task.season].append(task)
    found = [Standing(in_order(held)) for held in kinds.values()]
    return sorted(found, key=lambda one: (one.first, urgency(one.tasks), one.tasks[0].key))
