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
    """What one folder's feeds hold. The same UID has a record for its tree's feed and one for its round.

    `files` are the feeds written, relative to the folder. `floor` is the SEQUENCE new events start with:
    0, unless the state was lost and had to be read back from the feeds (then `read_back` is true).
    """

    trees: Mapping[str, Record] = field(default_factory=dict)
    rounds: Mapping[str, Record] = field(default_factory=dict)
    files: tuple[str, ...] = ()
    floor: int = 0
    read_back: bool = False


@dataclass(frozen=True, slots=True)
class Publication:
    """Events with their revisions, and the state to remember once they are written."""

    trees: Mapping[str, list[Stamped]]
    rounds: list[Stamped]
    published: Published


def publish(
    trees: Mapping[str, Iterable[Event]], rounds: Iterable[Event], published: Published, now: datetime
) -> Publication:
    """Give every event its revision and stamp. `now` must be aware of its zone (ValueError otherwise).

    `trees` are the events of each tree's feed, `rounds` those of the feed for everything. Events that
    are gone leave their feed; their revisions are remembered, and go on rising if they come back.
    """
    if now.tzinfo is None:
        raise ValueError("`now` needs a time zone")
    moment = now.astimezone(UTC).replace(microsecond=0)
    details = {
        tree: _stamp_all(events, published.trees, published.floor, moment) for tree, events in trees.items()
    }
    gathered = _stamp_all(rounds, published.rounds, published.floor, moment)
    state = replace(
        published,
        trees=_remember([stamped for events in details.values() for stamped in events], published.trees),
        rounds=_remember(gathered, published.rounds),
    )
    return Publication(details, gathered, state)


def _stamp_all(
    events: Iterable[Event], records: Mapping[str, Record], floor: int, moment: datetime
) -> list[Stamped]:
    fresh = moment.strftime(STAMP_FORMAT)
    stamped = []
    for event in events:
        record = records.get(event.uid)
        if record is None:
            stamped.append(Stamped(event, floor, fresh))
        elif record.shown is not None and not noticed(record.shown, event):
            stamped.append(Stamped(record.shown, record.sequence, record.stamp))
        else:
            stamped.append(Stamped(event, record.sequence + 1, max(fresh, _just_after(record.stamp))))
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
