"""All feeds of a collection, from tasks to checked bytes, on one page."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from care_planner.calendar.check_bytes import check_bytes
from care_planner.calendar.event import Stamped
from care_planner.calendar.faults import CannotWrite
from care_planner.calendar.feed import Heading
from care_planner.calendar.identity import uid
from care_planner.calendar.limits import fit
from care_planner.calendar.names import ROUNDS_NAME, tree_feed_name
from care_planner.calendar.revisions import Published, publish
from care_planner.calendar.rounds import round_events, tree_events
from care_planner.tasks.model import Task


@dataclass(frozen=True, slots=True)
class Feeds:
    """Feeds by file name, the state to remember, and what a person should be told about them."""

    files: Mapping[str, bytes]
    published: Published
    messages: tuple[str, ...]


def task_uids(collection_identity: UUID, tasks: Iterable[Task]) -> dict[str, str]:
    """The UID of every task, by its key."""
    return {task.key: uid(collection_identity, task.key) for task in tasks}


def make_feeds(
    trees: Iterable[str],
    tasks: Sequence[Task],
    uids: Mapping[str, str],
    site: str,
    alarm_hours: int | None,
    published: Published,
    now: datetime,
) -> Feeds:
    """Every feed of a collection: one a tree, an empty one where nothing is planned, and one of rounds.

    Pure: the same tasks, state and `now` give the same bytes, and tasks that are not noticeably new give
    the published bytes whatever `now` is. Raises CannotWrite when bytes fail their check, which is a fault
    of this program and not of the plan.
    """
    details = tree_events(tasks, uids, alarm_hours)
    publication = publish(
        {tree: details.get(tree, []) for tree in sorted({*trees, *details})},
        round_events(tasks, uids, alarm_hours),
        published,
        now,
    )
    contents: dict[str, tuple[Heading, list[Stamped]]] = {
        tree_feed_name(tree): (Heading(tree, f"Work on {tree}, {site}"), events)
        for tree, events in publication.trees.items()
    }
    heading = Heading(f"Tree care, {site}", f"Rounds of work on all trees, {site}")
    contents[ROUNDS_NAME] = heading, publication.rounds
    files, messages = {}, []
    for name, (heading, events) in sorted(contents.items()):
        fitted = fit(heading, events)
        faults = check_bytes(fitted.data)
        if faults:
            raise CannotWrite(f"{name} failed its check and nothing was written: {'; '.join(faults)}")
        files[name] = fitted.data
        if fitted.message:
            messages.append(f"{name}: {fitted.message}")
    return Feeds(files, publication.published, tuple(messages))
