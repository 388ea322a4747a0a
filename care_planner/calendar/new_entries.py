"""How many entries a day adds to the feed of everything: what the forecast says of later nights can wait."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime

from care_planner.calendar.event import Event
from care_planner.calendar.revisions import STAMP_FORMAT, Record

# A calendar that fills faster than this is not read: a starting value.
MOST_NEW_A_DAY = 2


def with_room(
    nights: Sequence[Event], others: Iterable[Event], known: Mapping[str, Record], now: datetime
) -> list[Event]:
    """The entries of the forecast that go in beside the `others` of the plan. `known`: what the feed has had.

    Those of today and tomorrow always do, and those that were there before. A night further off waits for
    tomorrow's run where the day has added `MOST_NEW_A_DAY` entries without it. A first feed has room for all.
    """
    if not known:
        return list(nights)
    room = MOST_NEW_A_DAY - _new_today(known, now) - sum(1 for event in others if event.uid not in known)
    room -= sum(1 for event in nights if event.uid not in known and not _can_wait(event, now))
    kept = []
    for event in sorted(nights, key=lambda event: (event.day, event.uid)):
        is_new = event.uid not in known and _can_wait(event, now)
        room -= is_new
        if not is_new or room >= 0:
            kept.append(event)
    return kept


def _can_wait(event: Event, now: datetime) -> bool:
    return event.day > now.toordinal() + 1


def _new_today(known: Mapping[str, Record], now: datetime) -> int:
    """Entries first written by an earlier run of this day, as far as no later run has changed them."""
    day = now.astimezone(UTC).strftime(STAMP_FORMAT)[:8]
    first = min(record.sequence for record in known.values())
    return sum(1 for one in known.values() if one.sequence == first and one.stamp.startswith(day))
