"""The feeds beside those of the calendar: by bench, by kind of work, by taxon."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from care_planner.calendar.check_bytes import check_bytes
from care_planner.calendar.event import Stamped
from care_planner.calendar.faults import CannotWrite
from care_planner.calendar.feed import Heading
from care_planner.calendar.limits import fit
from care_planner.calendar.revisions import Published, publish
from care_planner.calendar.rounds import round_events
from care_planner.collection.model import Collection
from care_planner.serve.names import bench_feed, taxon_feed, work_feed
from care_planner.serve.scope import KINDS_OF_WORK
from care_planner.tasks.model import Task


@dataclass(frozen=True, slots=True)
class MoreFeeds:
    """Feeds by name, the revisions of the taxon feeds to remember, and what a person should be told."""

    files: Mapping[str, bytes]
    taxa_state: Published
    messages: tuple[str, ...]


def more_feeds(
    collection: Collection,
    tasks: Sequence[Task],
    uids: Mapping[str, str],
    published: Published,
    taxa_state: Published,
    now: datetime,
) -> MoreFeeds:
    """Feeds of every bench, kind of work and taxon, an empty one where nothing is planned.

    Pure. `tasks` are those shown, done ones with them; `uids` the UID of each task's key; `published` the
    state after the calendar was written. A round never crosses benches or kinds, so these feeds hold the
    rounds of the feed for everything, with their revisions. A round may hold trees of several taxa, so the
    taxa have rounds of their own, whose revisions `taxa_state` remembers. Raises CannotWrite when bytes fail
    their check.
    """
    site = collection.site.name
    contents: dict[str, tuple[Heading, Sequence[Stamped]]] = {}
    benches, kinds = _published_rounds(tasks, uids, published)
    for bench in collection.benches:
        contents[bench_feed(bench)] = Heading(f"Bench {bench}, {site}", "Rounds of work"), benches[bench]
    for kind in KINDS_OF_WORK:
        contents[work_feed(kind)] = Heading(f"{kind.title()}, {site}", "Rounds of work"), kinds[kind]
    taxa = sorted({tree.taxon for tree in collection.trees})
    hours = collection.calendar.alarm_hours_before
    alarm = int(hours) if hours else None
    events = {
        taxon: round_events([task for task in tasks if task.taxon == taxon], uids, alarm) for taxon in taxa
    }
    publication = publish(events, [], taxa_state, now)
    for taxon in taxa:
        contents[taxon_feed(taxon)] = Heading(f"{taxon}, {site}", "Rounds of work"), publication.trees[taxon]
    files, messages = {}, []
    for name, (heading, stamped) in sorted(contents.items()):
        fitted = fit(heading, stamped)
        faults = check_bytes(fitted.data)
        if faults:
            raise CannotWrite(f"{name} failed its check and nothing was written: {'; '.join(faults)}")
        files[name] = fitted.data
        if fitted.message:
            messages.append(f"{name}: {fitted.message}")
    return MoreFeeds(files, publication.published, tuple(messages))


def _published_rounds(
    tasks: Sequence[Task], uids: Mapping[str, str], published: Published
) -> tuple[Mapping[str, list[Stamped]], Mapping[str, list[Stamped]]]:
    """The rounds in the feed for everything, by bench and by kind of work."""
    benches: defaultdict[str, list[Stamped]] = defaultdict(list)
    kinds: defaultdict[str, list[Stamped]] = defaultdict(list)
    for task in tasks:
        record = published.rounds.get(uids[task.key])
        if record is not None and record.shown is not None:
            stamped = Stamped(record.shown, record.sequence, record.stamp)
            benches[task.bench].append(stamped)
            kinds[task.category].append(stamped)
    return benches, kinds
