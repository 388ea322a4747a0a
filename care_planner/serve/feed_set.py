"""The feeds beside those of the calendar: by bench, by kind of work, by taxon."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from care_planner.calendar.events import Maker
from care_planner.calendar.feed import Heading
from care_planner.calendar.feeds import Feeds, part_events, stamped_feeds
from care_planner.calendar.revisions import Published
from care_planner.collection.model import Collection
from care_planner.serve.names import bench_feed, taxon_feed, work_feed
from care_planner.serve.scope import KINDS_OF_WORK
from care_planner.tasks.model import Task
from care_planner.words.names import bench_head


def more_feeds(
    collection: Collection,
    tasks: Sequence[Task],
    make: Maker,
    floor: int,
    parts_state: Published,
    now: datetime,
) -> Feeds:
    """Feeds of every bench, kind of work and taxon, an empty one where nothing is planned.

    Pure. `tasks` are those shown, done ones with them. Each part has works, walks and watches of its own,
    with revisions that `parts_state` remembers; they begin no lower than the calendar's new ones, at `floor`.
    Raises CannotWrite when bytes fail their check.
    """
    site = collection.site.name
    taxa = sorted({tree.taxon for tree in collection.trees})
    parts: dict[str, tuple[Heading, list[Task]]] = {}
    for bench in collection.benches:
        parts[bench_feed(bench)] = Heading(f"{bench_head(bench)}, {site}", "Work on one bench"), []
    for kind in KINDS_OF_WORK:
        parts[work_feed(kind)] = Heading(f"{kind.title()}, {site}", "One kind of work"), []
    for taxon in taxa:
        parts[taxon_feed(taxon)] = Heading(f"{taxon}, {site}", "Work on trees of one kind"), []
    for task in tasks:
        for name in (bench_feed(task.bench), work_feed(task.category), taxon_feed(task.taxon)):
            if name in parts:
                parts[name][1].append(task)
    walk_day = collection.people.walk_day
    events = {name: part_events(held, walk_day, make) for name, (_, held) in parts.items()}
    headings: Mapping[str, Heading] = {name: heading for name, (heading, _) in parts.items()}
    state = replace(parts_state, floor=max(parts_state.floor, floor))
    return stamped_feeds(headings, events, state, now)
