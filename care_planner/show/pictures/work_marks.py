"""The few works of a season that count, each named in a lane where names do not meet."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Literal, NamedTuple

from care_planner.rulebook.pack import TaxonRules
from care_planner.rulebook.rule import LOSSES
from care_planner.show.pictures.drawn import WorkMark
from care_planner.show.pictures.scale import Scale
from care_planner.tasks.model import Task
from care_planner.words.days import short_day

# Of one tree so many works are named in its picture, dearest first; the table behind it holds them all.
MOST_WORKS = 7
# A letter of a name takes so much of the picture on a narrow phone (328 px wide, letters of 6 px).
LETTER_PERCENT = 1.95
MARK_PERCENT = 4.0
LONGEST_NAME = 24


def work_marks(
    tasks: Iterable[Task], done: Mapping[tuple[str, int], Sequence[int]], rules: TaxonRules, scale: Scale
) -> tuple[tuple[WorkMark, ...], int]:
    """The works that count most, by day, and their lanes. `done` is by rule and season."""
    found = {**_noted(done, rules, scale), **_planned(tasks, rules, scale)}
    dearest = sorted(found.items(), key=lambda one: (one[1].loss, one[0][1], one[0][0]))[:MOST_WORKS]
    marks: list[WorkMark] = []
    lanes: list[list[tuple[float, float]]] = []
    for (_, day), work in sorted(dearest, key=lambda one: (one[0][1], one[0][0])):
        x, name = scale.middle(day), short_name(work.title)
        width = MARK_PERCENT + LETTER_PERCENT * len(name)
        left = x + width > 100
        taken = (x - width, x + 2) if left else (x - 2, x + width)
        lane = next((n for n, held in enumerate(lanes) if _free(taken, held)), len(lanes))
        if lane == len(lanes):
            lanes.append([])
        lanes[lane].append(taken)
        marks.append(WorkMark(x, lane, name, short_day(day), work.look, left))
    return tuple(marks), len(lanes)


class _Work(NamedTuple):
    loss: int  # the dearest is 0
    title: str
    look: Literal["planned", "done"]


def _noted(
    done: Mapping[tuple[str, int], Sequence[int]], rules: TaxonRules, scale: Scale
) -> dict[tuple[str, int], _Work]:
    """What was done once in a season, by rule and day."""
    once = {id: rule for id, rule in rules.rules.items() if rule.repeat is None}
    return {
        (id, day): _Work(LOSSES.index(once[id].loss), once[id].title, "done")
        for (id, _), days in done.items()
        for day in days
        if id in once and day in scale.span
    }


def _planned(tasks: Iterable[Task], rules: TaxonRules, scale: Scale) -> dict[tuple[str, int], _Work]:
    """What is to be done once, by rule and day."""
    found = {}
    for task in tasks:
        rule, handwork = rules.rules.get(task.rule), task.kind == "work" and task.way == "work"
        if rule is not None and rule.repeat is None and handwork and not task.done and task.day in scale.span:
            found[task.rule, task.day] = _Work(LOSSES.index(rule.loss), task.title, "planned")
    return found


def _free(wanted: tuple[float, float], held: Iterable[tuple[float, float]]) -> bool:
    return all(wanted[1] <= left or right <= wanted[0] for left, right in held)


def short_name(title: str) -> str:
    """A work's title as short as a mark can bear: what stands before the first comma or colon."""
    head = title.split(":")[0].split(",")[0].split(" (")[0].strip()
    return head if len(head) <= LONGEST_NAME else head[: LONGEST_NAME - 1].rstrip() + "…"
