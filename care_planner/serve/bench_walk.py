"""The bench walk of the week as one list, by bench."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from care_planner.calendar.text import one_line
from care_planner.serve.cards import TREES_NAMED, Noted, dearest_first
from care_planner.show.paper.week import hours
from care_planner.tasks.agenda import Walk
from care_planner.tasks.model import Task
from care_planner.words.conditions import what_words


@dataclass(frozen=True, slots=True)
class DayWalkItem:
    """A thing to tick on the walk: `value` names it to the server."""

    value: str
    title: str
    on: str
    what: str
    noted: bool


@dataclass(frozen=True, slots=True)
class DayWalk:
    """The bench walk of the week: its minutes and its things, looks with them, as every view counts them;
    the things `to_tick`, and those by bench."""

    minutes: str
    things: int
    to_tick: int
    benches: tuple[tuple[str, tuple[DayWalkItem, ...]], ...]

    @property
    def number(self) -> int:
        """How many things are not ticked yet."""
        return sum(not item.noted for _, items in self.benches for item in items)


def walk_of(walks: Sequence[Walk], noted: Noted) -> DayWalk | None:
    """What is looked at or given in passing, by bench; each thing once for the trees that stand there."""
    items = [item for walk in walks for item in walk.items]
    works = [item for item in items if item.first.kind == "work"]
    if not works:
        return None
    benches: defaultdict[str, defaultdict[tuple[str, str], dict[str, Task]]] = defaultdict(
        lambda: defaultdict(dict)
    )
    for task in (task for item in works for task in item.tasks):
        benches[task.bench][task.rule, task.title].setdefault(task.tree, task)
    found = []
    for bench, held in sorted(benches.items()):
        alike = sorted((list(same.values()) for same in held.values()), key=dearest_first)
        found.append((bench, tuple(_item(same, noted) for same in alike)))
    minutes, to_tick = sum(walk.minutes for walk in walks), {(one.first.rule, one.title) for one in works}
    return DayWalk(hours(minutes), len(items), len(to_tick), tuple(found))


def work_value(rule: str, trees: Sequence[str]) -> str:
    """How a form names a work on some trees: `RULE/TREE,TREE`."""
    return f"{rule}/{','.join(sorted(trees))}"


def _item(tasks: Sequence[Task], noted: Noted) -> DayWalkItem:
    trees = sorted(task.tree for task in tasks)
    return DayWalkItem(
        work_value(tasks[0].rule, trees),
        one_line(tasks[0].title),
        ", ".join(trees) if len(trees) <= TREES_NAMED else f"{len(trees)} trees",
        one_line(what_words(tasks[0])),
        all((tree, tasks[0].rule) in noted for tree in trees),
    )
