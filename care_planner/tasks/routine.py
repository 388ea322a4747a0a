"""What the days take before any work: the daily watering and the weekly bench walk."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from care_planner.spans import monday_of
from care_planner.tasks.agenda import minutes_in_passing
from care_planner.tasks.model import Task

# Watering and the walk take no more of a day's hours than this: who has less time does them faster (starting
# value).
MOST_OF_A_DAY = 0.5

Groups = Iterable[tuple[int, Sequence[Task]]]


def routine_minutes(
    groups: Groups, days: Sequence[int], hours: NDArray[np.float64], walk_day: Callable[[int], int | None]
) -> NDArray[np.float64]:
    """Minutes [days] of watering and walk, at most half of each day's `hours` (minutes [days]).

    `groups` are (number of trees planned alike, their tasks); `days` are ordinals, rising; `walk_day` says of
    a Monday on which day of its week the walk is.
    """
    held = [(count, task) for count, tasks in groups for task in tasks]
    column = {day: place for place, day in enumerate(days)}
    minutes = _watering(held, np.asarray(days))
    for monday, walk in _walks(held).items():
        day = walk_day(monday)
        if day in column:
            minutes[column[day]] += walk
    return np.minimum(minutes, hours * MOST_OF_A_DAY)


def _watering(held: Iterable[tuple[int, Task]], days: NDArray[np.int64]) -> NDArray[np.float64]:
    """Minutes [days] of the watches on water."""
    found = np.zeros(len(days))
    of_rule: defaultdict[str, list[tuple[int, Task]]] = defaultdict(list)
    for count, task in held:
        if task.way == "watch" and task.category == "water":
            of_rule[task.rule].append((count, task))
    for tasks in of_rule.values():
        total, longest = np.zeros(len(days)), np.zeros(len(days))
        for count, task in tasks:
            on = days >= task.day
            if task.until is not None:
                on &= days <= task.until
            total[on] += count * task.minutes
            longest[on] = np.maximum(longest[on], task.minutes)
        found += minutes_in_passing(total, longest)
    return found


def _walks(held: Iterable[tuple[int, Task]]) -> Mapping[int, float]:
    """Minutes of each week's walk, by its Monday."""
    total: defaultdict[tuple[int, str, str], int] = defaultdict(int)
    longest: defaultdict[tuple[int, str, str], int] = defaultdict(int)
    for count, task in held:
        if task.way == "walk":
            key = (monday_of(task.day), "" if task.kind == "look" else task.rule, task.title)
            total[key] += count * task.minutes
            longest[key] = max(longest[key], task.minutes)
    found: defaultdict[int, float] = defaultdict(float)
    for key, minutes in total.items():
        found[key[0]] += float(minutes_in_passing(minutes, longest[key]))
    return found
