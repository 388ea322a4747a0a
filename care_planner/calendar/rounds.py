"""Tasks as events: each for its own tree's feed, and gathered into rounds for the feed for everything.

A round is the same work on the same bench on the same day: one event, because people work that way.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from statistics import median_low

from care_planner.calendar.event import Event
from care_planner.calendar.text import LONGEST_NAME, clean_lines, one_line, percent
from care_planner.tasks.model import Task, Window
from care_planner.words.chains import why_lines_of
from care_planner.words.moves import moved_words

MOST_NAMES_IN_TITLE = 3
MOST_REASONS = 2


def task_event(task: Task, uid: str, alarm_hours: int | None = None) -> Event:
    """The event of one task, with all its detail."""
    tree = one_line(task.tree, LONGEST_NAME)
    title = f"Done: {task.title}" if task.done else task.title
    return Event(
        uid=uid,
        day=task.day,
        title=_title(title, (tree,)),
        window=task.window,
        chance=percent(task.chance),
        firm=task.firm,
        minutes=task.minutes,
        categories=(one_line(task.category, LONGEST_NAME),),
        trees=(tree,),
        cautions=clean_lines(task.cautions),
        why=clean_lines(why_lines_of(task)),
        what=one_line(task.what),
        moved=one_line(moved_words(task.move)),
        alarm_hours=None if task.done else alarm_hours,
    )


def tree_events(
    tasks: Iterable[Task], uids: Mapping[str, str], alarm_hours: int | None = None
) -> dict[str, list[Event]]:
    """One event a task, by tree. `uids` is the UID of each task's key; KeyError when one is missing."""
    trees: dict[str, list[Event]] = defaultdict(list)
    for task in tasks:
        trees[task.tree].append(task_event(task, uids[task.key], alarm_hours))
    return dict(trees)


def round_events(
    tasks: Iterable[Task], uids: Mapping[str, str], alarm_hours: int | None = None
) -> list[Event]:
    """One event for the same work (rule, kind and title) on the same bench on the same day.

    It has the identity of its first task by tree, season and occurrence, so that it keeps its UID when
    other trees join or leave, and when the whole round moves. The order of `tasks` does not matter.
    """
    rounds: dict[tuple[str, str, str, str, int, bool], list[Task]] = defaultdict(list)
    for task in tasks:
        rounds[task.rule, task.kind, task.title, task.bench, task.day, task.done].append(task)
    return [_round(sorted(alike, key=_order), uids, alarm_hours) for alike in rounds.values()]


def _order(task: Task) -> tuple[str, int, int, str]:
    return task.tree, task.season, task.occurrence, task.key


def _round(tasks: Sequence[Task], uids: Mapping[str, str], alarm_hours: int | None) -> Event:
    first = tasks[0]
    if len(tasks) == 1:
        event = task_event(first, uids[first.key], alarm_hours)
        return replace(event, why=event.why[:MOST_REASONS])
    trees = tuple(dict.fromkeys(one_line(task.tree, LONGEST_NAME) for task in tasks))
    return Event(
        uid=uids[first.key],
        day=first.day,
        title=_title(f"Done: {first.title}" if first.done else first.title, trees),
        window=_shared_window([task.window for task in tasks]),
        chance=percent(min(task.chance for task in tasks)),
        firm=all(task.firm for task in tasks),
        minutes=sum(task.minutes for task in tasks),
        categories=tuple(sorted({one_line(task.category, LONGEST_NAME) for task in tasks})),
        trees=trees,
        cautions=clean_lines(tuple(caution for task in tasks for caution in task.cautions)),
        why=_shared_reasons(tasks),
        what=one_line(first.what),
        moved=one_line(moved_words(first.move)) if len({task.move for task in tasks}) == 1 else "",
        alarm_hours=None if first.done else alarm_hours,
    )


def _title(work: str, trees: tuple[str, ...]) -> str:
    on = ", ".join(trees) if len(trees) <= MOST_NAMES_IN_TITLE else f"{len(trees)} trees"
    return f"{one_line(work, LONGEST_NAME)}: {on}"


def _shared_window(windows: Sequence[Window]) -> Window:
    """The days that suit every tree: latest opening to earliest closing, and the middle likely day.

    Where no day suits all, the days that suit any: the round is then as wide as its widest tree.
    """
    opens = _each([window.opens for window in windows])
    closes = _each([window.closes for window in windows])
    likely = _each([window.likely for window in windows])
    first, last = max(opens, default=None), min(closes, default=None)
    if first is not None and last is not None and first > last:
        first, last = min(opens), max(closes)
    return Window(first, median_low(likely) if likely else None, last)


def _each(days: Sequence[int | None]) -> list[int]:
    """The days, or none at all when one of them is not known: a shared edge needs every tree's."""
    known = [day for day in days if day is not None]
    return known if len(known) == len(days) else []


def _shared_reasons(tasks: Sequence[Task]) -> tuple[str, ...]:
    """A few reasons that hold for every tree; where none does, the first tree's, said to be its own."""
    each = [clean_lines(why_lines_of(task)) for task in tasks]
    shared = set(each[0]).intersection(*each[1:])
    if shared:
        return tuple(line for line in each[0] if line in shared)[:MOST_REASONS]
    tree = one_line(tasks[0].tree, LONGEST_NAME)
    return tuple(f"for {tree}: {line}" for line in each[0][:MOST_REASONS])
