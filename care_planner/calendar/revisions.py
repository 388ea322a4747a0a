"""What was published, and the only place where revisions rise.

A revision rises, and its stamp with it, only for what a person would notice. What is not noticed leaves
the published event as it stands, bytes and all; and since every plan is compared with what was published
and not with the last try, slow change is noticed once it adds up.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta

from care_planner.calendar.event import Event, Stamped
from care_planner.calendar.noticed import noticed

# How long after its day dropped work is remembered: longer than a plan reaches, so that work which comes
# back finds its own revisions.
REMEMBERED_DAYS = 3 * 366

STAMP_FORMAT = "%Y%m%dT%H%M%SZ"


@dataclass(frozen=True, slots=True)
class Record:
    """The last revision of one event. `shown` is None when it is not in the feed, or not known to be."""

    sequence: int
    stamp: str
    day: int
    shown: Event | None = None


@dataclass(frozen=True, slots=True)
class Published:
    """What one folder's feeds hold: records by feed and UID, since two feeds may show one work differently.

    `files` are the feeds written, relative to the folder. `floor` is the SEQUENCE new events start with:
    0, unless the state was lost and read back from the feeds (then `read_back` is true), or was written by
    an older version. Of those `older` has the revisions by UID, for whichever feed asks first.
    """

    feeds: Mapping[str, Mapping[str, Record]] = field(default_factory=dict)
    files: tuple[str, ...] = ()
    floor: int = 0
    read_back: bool = False
    older: Mapping[str, Record] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Publication:
    """Events with their revisions by feed, and the state to remember once they are written."""

    feeds: Mapping[str, list[Stamped]]
    published: Published


def publish(feeds: Mapping[str, Iterable[Event]], published: Published, now: datetime) -> Publication:
    """Give every event its revision and stamp. `now` must be aware of its zone (ValueError otherwise).

    Events that are gone leave their feed; their revisions are remembered, and go on rising if they come back.
    What an older version knew is forgotten once every feed has been made anew: later events start above it.
    """
    if now.tzinfo is None:
        raise ValueError("`now` needs a time zone")
    moment = now.astimezone(UTC).replace(microsecond=0)
    stamped = {name: _stamp_all(events, name, published, moment) for name, events in feeds.items()}
    records = {name: _remember(events, published.feeds.get(name, {})) for name, events in stamped.items()}
    for name, before in published.feeds.items():
        if name not in records:
            records[name] = {uid: replace(record, shown=None) for uid, record in before.items()}
    state = replace(published, feeds=records, older={})
    return Publication(stamped, state)


def _stamp_all(events: Iterable[Event], feed: str, published: Published, moment: datetime) -> list[Stamped]:
    fresh = moment.strftime(STAMP_FORMAT)
    records = published.feeds.get(feed, {})
    stamped = []
    for event in events:
        record = records.get(event.uid) or published.older.get(event.uid)
        if record is None:
            stamped.append(Stamped(event, published.floor, fresh))
        elif record.shown is not None and not noticed(record.shown, event):
            stamped.append(Stamped(record.shown, record.sequence, record.stamp))
        else:
            sequence = max(record.sequence + 1, published.floor)
            stamped.append(Stamped(event, sequence, max(fresh, _just_after(record.stamp))))
    return stamped


def _just_after(stamp: str) -> str:
    """One second later, so that a stamp rises even where the clock was set back."""
    moment = datetime.strptime(stamp, STAMP_FORMAT).replace(tzinfo=UTC)
    return (moment + timedelta(seconds=1)).strftime(STAMP_FORMAT)


def _remember(stamped: list[Stamped], before: Mapping[str, Record]) -> dict[str, Record]:
    """Records of what is in the feed and of what left it not too long ago.

    Age is told by the plan's own days and not by the clock, which may be wrong and then right again.
    """
    live = {one.event.uid: Record(one.sequence, one.stamp, one.event.day, one.event) for one in stamped}
    oldest = min((record.day for record in live.values()), default=0) - REMEMBERED_DAYS
    for uid, record in before.items():
        if uid not in live and record.day >= oldest:
            live[uid] = replace(record, shown=None) if record.shown else record
    return live
