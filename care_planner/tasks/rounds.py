"""The same work on the same day for several trees: grouped once, for terminal, calendar, pages and paper."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from statistics import median_low

from care_planner.rulebook.rule import LOSSES, Loss
from care_planner.tasks.links import CountsOn, EndsStage
from care_planner.tasks.model import Task, Window

_DEARNESS = {loss: place for place, loss in enumerate(LOSSES)}


@dataclass(frozen=True, slots=True)
class Round:
    """One work on one day. `tasks` are one a tree, by tree; its identity is that of the first of them, so it
    stays when trees join or leave and when all of it moves."""

    tasks: tuple[Task, ...]

    @property
    def first(self) -> Task:
        return self.tasks[0]

    @property
    def key(self) -> str:
        return self.first.key

    @property
    def rule(self) -> str:
        return self.first.rule

    @property
    def title(self) -> str:
        several = len({task.rule for task in self.tasks}) > 1
        return self.first.together if several else self.first.title

    @property
    def day(self) -> int:
        return self.first.day

    @property
    def until(self) -> int | None:
        """The last day of work that goes on for a time; None for work of one day."""
        return last_until(self.tasks)

    @property
    def done(self) -> bool:
        return self.first.done

    @property
    def loss(self) -> Loss:
        return dearest(self.tasks)

    @property
    def minutes(self) -> int:
        """Minutes of all trees together."""
        return sum(task.minutes for task in self.tasks)

    @property
    def firm(self) -> bool:
        return all(task.firm for task in self.tasks)

    @property
    def window(self) -> Window:
        return shared_window([task.window for task in self.tasks])

    @property
    def trees(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(task.tree for task in self.tasks))

    @property
    def by_taxon(self) -> list[tuple[Task, ...]]:
        """The tasks of each taxon, in the order of their first trees: each keeps its own words."""
        return by_taxon(self.tasks)


def rounds(tasks: Iterable[Task]) -> list[Round]:
    """Tasks of way `work` gathered by work, title and day, or by what they are told together under.

    On a day the dearer and the sooner closing come first, but none before what it hangs on: flowers come off
    before the prune.
    """
    alike: defaultdict[tuple[object, ...], list[Task]] = defaultdict(list)
    for task in tasks:
        work = (task.together,) if task.together else (task.rule, task.title)
        alike[work, task.kind, task.day, task.done].append(task)
    found = [Round(in_order(held)) for held in alike.values()]
    found.sort(key=lambda one: (one.day, urgency(one.tasks), one.title, one.key))
    return [one for _, of_day in groupby(found, key=lambda one: one.day) for one in _in_turn(list(of_day))]


def _in_turn(waiting: list[Round]) -> Iterator[Round]:
    """The rounds of one day, those that others hang on before these."""
    if len(waiting) == 1:
        yield from waiting
        return
    hangs_on = {
        one.key: {
            (task.tree, link.other.work)
            for task in one.tasks
            for link in task.reasons
            if isinstance(link, CountsOn | EndsStage)
        }
        for one in waiting
    }
    while waiting:
        still = {(task.tree, task.rule) for one in waiting for task in one.tasks}
        own = {one.key: {(task.tree, task.rule) for task in one.tasks} for one in waiting}
        # In a circle, which other seasons' works can make, the first goes on.
        ready = (one for one in waiting if not hangs_on[one.key] & (still - own[one.key]))
        first = next(ready, waiting[0])
        waiting.remove(first)
        yield first


def in_order(tasks: Sequence[Task]) -> tuple[Task, ...]:
    """The tasks of a group in their order; in a tree's own feed nearly every group is one task."""
    return tuple(sorted(tasks, key=by_tree) if len(tasks) > 1 else tasks)


def by_tree(task: Task) -> tuple[str, int, int, str]:
    """The order of tasks in a group."""
    return task.tree, task.season, task.occurrence, task.key


def urgency(tasks: Sequence[Task]) -> tuple[int, float]:
    """Sorts the dearer first, and of equally dear ones the sooner closing."""
    closes = [task.window.closes for task in tasks if task.window.closes is not None]
    return _DEARNESS[dearest(tasks)], min(closes, default=float("inf"))


def dearest(tasks: Iterable[Task]) -> Loss:
    """The dearest loss among tasks."""
    return dearest_of(task.loss for task in tasks)


def dearest_of(losses: Iterable[Loss]) -> Loss:
    """The dearest of some losses."""
    return min(losses, key=_DEARNESS.__getitem__)


def last_until(tasks: Iterable[Task]) -> int | None:
    """The last day that any of these tasks goes on; None where none does."""
    return max((task.until for task in tasks if task.until is not None), default=None)


def by_taxon(tasks: Iterable[Task]) -> list[tuple[Task, ...]]:
    """Tasks by taxon, and by rule where several are told together, in the order of their first trees."""
    taxa: defaultdict[tuple[str, str], list[Task]] = defaultdict(list)
    for task in tasks:
        taxa[task.taxon, task.rule].append(task)
    return [tuple(held) for held in taxa.values()]


def shared_window(windows: Sequence[Window]) -> Window:
    """The days that suit every tree: latest opening to earliest closing, and the middle likely day.

    Where no day suits all, the days that suit any: the round is then as wide as its widest tree.
    """
    opens = _each([window.opens for window in windows])
    closes = _each([window.closes for window in windows])
    likely = _each([window.likely for window in windows])
    first, last = max(opens, default=None), min(closes, default=None)
    if first is not None and last is not None and first > last:
        first, last = min(opens), max(closes)
    middle = median_low(likely) if likely else None
    if middle is not None and first is not None:
        middle = max(middle, first)
    if middle is not None and last is not None:
        middle = min(middle, last)
    return Window(first, middle, last)


def _each(days: Sequence[int | None]) -> list[int]:
    """The days, or none at all when one of them is not known: a shared edge needs every tree's."""
    known = [day for day in days if day is not None]
    return known if len(known) == len(days) else []
