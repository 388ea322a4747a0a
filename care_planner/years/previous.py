"""What the last published plan said, so that a new one moves a date only for a reason it can name."""

from collections import defaultdict
from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from care_planner.years.move import DayOffThen, Move, NoLongerPutOff, PutOffNow, of_move

# A published day is kept unless another is right in so many more members (a share), or it is wrong now.
WORTH_MOVING = 0.1
# Within so many days a published day moves only if its window demands it.
SOON_DAYS = 7


# Of each task its part of the key, its day, and what `of_move` tells of its last move.
Signature = tuple[tuple[str, int, bool, int], ...]


@dataclass(frozen=True)
class PreviousTask:
    """A task of the last plan. Days are ordinals; what was `left` out had no day that was published."""

    day: int
    title: str
    rule: str
    kind: str
    season: int
    opens: int | None
    closes: int | None
    move: Move | None = None
    left: bool = False


@dataclass(frozen=True, eq=False)
class PreviousTree:
    """What the last plan said of one tree: tasks by the part of their key after the tree's id, and the
    expected day of each stage by (stage, season). `made_on` is the day it was made."""

    tasks: Mapping[str, PreviousTask] = field(default_factory=dict)
    stages: Mapping[tuple[str, int], int] = field(default_factory=dict)
    made_on: int = 0

    @cached_property
    def works(self) -> Mapping[tuple[str, int], Mapping[int, int]]:
        """The days of works by (rule, season), each by occurrence."""
        found: defaultdict[tuple[str, int], dict[int, int]] = defaultdict(dict)
        for part, task in self.tasks.items():
            if task.kind == "work":
                found[task.rule, task.season][int(part.split("/")[2])] = task.day
        return found

    def signature(self) -> "Signature":
        """What of it can change a new plan: trees that differ in nothing else are still twins."""
        return tuple(sorted((part, task.day, *of_move(task.move)) for part, task in self.tasks.items()))

    def taken_back(
        self, today: int, days_off: Iterable[tuple[int, int]], put_off: Container[str]
    ) -> "PreviousTree":
        """As published, but works that were put off by a note that no longer stands have the day of before,
        unless that has passed.

        `days_off` are the first and last days without work, `put_off` the rules put off, that notes tell now.
        """
        spans = tuple(days_off)
        tasks = {part: _taken_back(task, today, spans, put_off) for part, task in self.tasks.items()}
        changed = any(task is not self.tasks[part] for part, task in tasks.items())
        return replace(self, tasks=tasks) if changed else self


def _taken_back(
    task: PreviousTask, today: int, days_off: Iterable[tuple[int, int]], put_off: Container[str]
) -> PreviousTask:
    if task.move is None or task.move.from_day is None or task.move.from_day < today:
        return task
    cause, before = task.move.cause, task.move.from_day
    freed = isinstance(cause, DayOffThen) and not any(first <= before <= last for first, last in days_off)
    freed = freed or (isinstance(cause, PutOffNow) and task.rule not in put_off)
    return replace(task, day=before, move=Move(task.day, NoLongerPutOff())) if freed else task


@dataclass(frozen=True, eq=False)
class PreviousPlan:
    """The last plan published in a folder; empty where there was none."""

    today: int = 0
    trees: Mapping[str, PreviousTree] = field(default_factory=dict)

    def of(self, tree: str) -> PreviousTree:
        """What it said of a tree."""
        return self.trees.get(tree, NOTHING_PUBLISHED)


NOTHING_PUBLISHED = PreviousTree()
NO_PREVIOUS = PreviousPlan()


def work_part(rule: str, season: int, occurrence: int) -> str:
    """The part of a work's key after the tree's id."""
    return f"{rule}/{season}/{occurrence}/work"


def look_part(stage: str, season: int) -> str:
    """The part of a look's key after the tree's id."""
    return f"{stage}/{season}/1/look"
