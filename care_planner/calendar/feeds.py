"""All feeds of a collection, from its agenda to checked bytes, on one page."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial

from care_planner.calendar.check_bytes import check_bytes
from care_planner.calendar.event import Event, Stamped
from care_planner.calendar.events import (
    Maker,
    absence_events,
    all_events,
    tree_events,
    walk_events,
    work_events,
)
from care_planner.calendar.faults import CannotWrite
from care_planner.calendar.feed import Heading
from care_planner.calendar.kept_events import KeptEvents
from care_planner.calendar.limits import fit
from care_planner.calendar.names import ALL_NAME, WALKS_NAME, WORKS_NAME, tree_feed_name
from care_planner.calendar.new_entries import with_room
from care_planner.calendar.revisions import Published, publish
from care_planner.tasks.agenda import agenda
from care_planner.tasks.model import Task
from care_planner.tasks.questions import Question

WalkDay = Callable[[int], int | None]


@dataclass(frozen=True, slots=True)
class Feeds:
    """Feeds by file name, the state to remember, and what a person should be told about them."""

    files: Mapping[str, bytes]
    published: Published
    messages: tuple[str, ...]


def make_feeds(
    trees: Iterable[str],
    tasks: Sequence[Task],
    walk_day: WalkDay,
    make: Maker,
    site: str,
    published: Published,
    now: datetime,
    asked: Iterable[Question] = (),
    nights: Sequence[Event] = (),
    kept: KeptEvents | None = None,
) -> Feeds:
    """Every feed of a collection: all, works, walks, and one a tree; an empty one where nothing is planned.

    Pure: the same tasks, state and `now` give the same bytes, and tasks that are not noticeably new give
    the published bytes whatever `now` is. Raises CannotWrite when bytes fail their check, which is a fault
    of this program and not of the plan. `nights` are what the forecast says, for the
    feed of everything; those far off only where the day has room for them (new_entries.py). What is `kept`
    from the feeds before is taken over; the bytes are the same as without it.
    """
    whole = agenda(tasks, walk_day)
    own: defaultdict[str, list[Task]] = defaultdict(list)
    for task in tasks:
        if task.way != "walk":  # a tree's own feed has no walks
            own[task.tree].append(replace(task, left=False) if task.left else task)
    headings = {
        ALL_NAME: Heading(f"Tree care, {site}", f"Works, walks and watches, {site}"),
        WORKS_NAME: Heading(f"Tree works, {site}", f"Works alone, {site}"),
        WALKS_NAME: Heading(f"Bench walks, {site}", f"The weekly bench walk, {site}"),
    }
    everything = all_events(whole, make, asked)
    told = with_room(nights, everything, published.feeds.get(ALL_NAME, {}), now)
    events = {ALL_NAME: [*told, *absence_events(make), *everything], WORKS_NAME: work_events(whole, make)}
    events[WALKS_NAME] = walk_events(whole, make)
    for tree in sorted({*trees, *own}):
        name = tree_feed_name(tree)
        headings[name] = Heading(tree, f"Work on {tree}, {site}")
        made = partial(_own_events, own[tree], walk_day, make)
        events[name] = made() if kept is None else kept.of(tree, own[tree], make, made)
    return stamped_feeds(headings, events, published, now)


def _own_events(tasks: Sequence[Task], walk_day: WalkDay, make: Maker) -> list[Event]:
    return tree_events(agenda(tasks, walk_day), make)


def part_events(tasks: Iterable[Task], walk_day: WalkDay, make: Maker) -> list[Event]:
    """The events of a part of the plan, such as one bench: its works, its walks, its watches."""
    return all_events(agenda(tasks, walk_day), make)


def stamped_feeds(
    headings: Mapping[str, Heading],
    events: Mapping[str, Iterable[Event]],
    published: Published,
    now: datetime,
) -> Feeds:
    """Feeds by name with their revisions, as checked bytes. Raises CannotWrite when bytes fail."""
    publication = publish(events, published, now)
    files, messages = {}, []
    for name, stamped in sorted(publication.feeds.items()):
        files[name], message = _bytes(name, headings[name], stamped)
        if message:
            messages.append(f"{name}: {message}")
    return Feeds(files, publication.published, tuple(messages))


def _bytes(name: str, heading: Heading, stamped: Iterable[Stamped]) -> tuple[bytes, str]:
    fitted = fit(heading, stamped)
    faults = check_bytes(fitted.data)
    if faults:
        raise CannotWrite(f"{name} failed its check and nothing was written: {'; '.join(faults)}")
    return fitted.data, fitted.message
