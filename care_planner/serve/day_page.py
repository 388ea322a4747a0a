"""The day: what was missed, today, tomorrow, this week, the bench walk as one list, looks a row a tree."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from care_planner.calendar.text import one_line
from care_planner.collection.model import Collection
from care_planner.rulebook.pack import Rulebook
from care_planner.serve.bench_walk import DayWalk, walk_of, work_value
from care_planner.serve.cards import TREES_NAMED, Card, Noted, cards_of
from care_planner.serve.scope import Scope
from care_planner.show.paper.week import hours
from care_planner.tasks.agenda import Walk, agenda
from care_planner.tasks.model import Task
from care_planner.words.conditions import what_words
from care_planner.words.days import short_day, weekday_words
from care_planner.words.names import own_name
from care_planner.years.move import NotDoneBy

WEEK_DAYS = 7


@dataclass(frozen=True, slots=True)
class DayPart:
    """Cards under a head such as `Today, 2 h 10 min`."""

    id: str
    title: str
    cards: tuple[Card, ...]

    @property
    def open(self) -> tuple[str, ...]:
        """Its works without an answer, each as the server is told of it."""
        return tuple(
            work_value(card.rule, [tree.id for tree in card.open_trees])
            for card in self.cards
            if card.open_trees
        )


@dataclass(frozen=True, slots=True)
class DayWatch:
    """What the weather of the day decides, and on which trees."""

    title: str
    what: str
    on: str
    until: str


@dataclass(frozen=True, slots=True)
class DayPage:
    """What the page of the day shows; `later` is the first work after the week, where there is any."""

    missed: tuple[Card, ...]
    parts: tuple[DayPart, ...]
    walk: DayWalk | None
    looks: tuple[Card, ...]
    watches: tuple[DayWatch, ...]
    later: str
    left: tuple[str, ...] = ()  # works for which nobody has time


def day_page(
    tasks: Iterable[Task],
    collection: Collection,
    rulebook: Rulebook,
    scope: Scope,
    today: int,
    noted: Noted = frozenset(),
) -> DayPage:
    """Everything for the days from `today` (ordinal) to the end of the week that follows."""
    names = {tree.id: one_line(own_name(tree.id, tree.name)) for tree in collection.trees}
    shown = [task for task in tasks if scope.holds(task) and not task.done]
    whole = agenda(shown, collection.people.walk_day)
    near = whole.between(today, today + WEEK_DAYS)
    before = [task for one in whole.rounds if one.day < today for task in one.tasks]
    coming = [task for one in near.rounds for task in one.tasks]
    both = {task.key: task for task in (*before, *coming)}.values()
    missed = [task for task in both if is_missed(task, today) and _can_still_be_done(task, today)]
    late = {task.key for task in missed}
    due = [task for task in coming if task.key not in late]
    walked = [task for walk in near.walks for item in walk.items for task in item.tasks]

    def cards(of: Iterable[Task]) -> tuple[Card, ...]:
        return tuple(cards_of(of, rulebook, names, today, noted))

    heads = (("today", "Today", 0, 1), ("tomorrow", "Tomorrow", 1, 2), ("week", "This week", 2, WEEK_DAYS))
    parts = []
    for id, title, first, end in heads:
        held = [task for task in due if today + first <= max(task.day, today) < today + end]
        walks = [walk for walk in near.walks if today + first <= walk.day < today + end]
        parts.append(DayPart(id, _head(title, held, walks), cards(held)))
    return DayPage(
        cards(missed),
        tuple(parts),
        walk_of(near.walks, noted),
        cards(task for task in walked if task.kind == "look"),
        tuple(_watch(one.tasks) for one in near.watches),
        _later([task for one in whole.rounds if one.day >= today + WEEK_DAYS for task in one.tasks]),
        tuple(f"{one.title}: {', '.join(one.trees)}" for one in near.left),
    )


def _head(title: str, works: Sequence[Task], walks: Sequence[Walk]) -> str:
    """`Today, 1 h 7 min with the bench walk`: all that the days take."""
    minutes = sum(task.minutes for task in works) + sum(walk.minutes for walk in walks)
    return f"{title}, {hours(minutes)}{' with the bench walk' if walks else ''}" if minutes else title


def is_missed(task: Task, today: int) -> bool:
    """Planned for a day that has passed without a note."""
    moved = task.move is not None and isinstance(task.move.cause, NotDoneBy)
    return task.kind == "work" and (moved or (task.day < today and task.until is None))


def _can_still_be_done(task: Task, today: int) -> bool:
    return task.window.closes is None or task.window.closes >= today


def _watch(tasks: Sequence[Task]) -> DayWatch:
    trees = sorted({task.tree for task in tasks})
    ends = [task.until for task in tasks]
    known = [end for end in ends if end is not None]
    until = f"until {short_day(max(known))}" if len(known) == len(ends) else ""
    on = ", ".join(trees) if len(trees) <= TREES_NAMED else f"{len(trees)} trees"
    return DayWatch(one_line(tasks[0].title), one_line(what_words(tasks[0])), on, until)


def _later(tasks: Iterable[Task]) -> str:
    works = list(tasks)
    if not works:
        return ""
    first = min(works, key=lambda task: (task.day, task.title))
    trees = sorted({task.tree for task in works if (task.day, task.title) == (first.day, first.title)})
    on = trees[0] if len(trees) == 1 else f"{len(trees)} trees"
    return f"{weekday_words(first.day)}: {first.title}, {on}"
