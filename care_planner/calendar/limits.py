"""Feeds small enough for every client: a nearer horizon when there is too much, and it is said."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from care_planner.calendar.event import Stamped
from care_planner.calendar.feed import Heading, in_order, join_feed, render_event, render_heading
from care_planner.calendar.text import MONTHS

# A feed stays under both. Common practice, no standard: large web calendars are reported to cut near 1 MB.
FEED_OCTETS = 500_000
FEED_EVENTS = 1_000


@dataclass(frozen=True, slots=True)
class Fitted:
    """A feed within the limits; `message` says what was left out, and is empty when nothing was."""

    data: bytes
    message: str


def fit(
    heading: Heading,
    events: Iterable[Stamped],
    octets: int = FEED_OCTETS,
    most: int = FEED_EVENTS,
) -> Fitted:
    """A feed under `octets` and `most` events, of the earliest whole days that fit.

    Work left out keeps its revisions; it appears as the days go by. Where the first day alone is too
    much, as many of its events as fit are kept.
    """
    ordered = in_order(events)
    rendered = [render_event(stamped) for stamped in ordered]
    whole = join_feed(render_heading(heading), rendered)
    if len(whole) < octets and len(rendered) < most:
        return Fitted(whole, "")
    last_day = ordered[-1].event.day
    longest = render_heading(_shortened(heading, last_day))
    # The date in the heading may be a digit longer than the one measured.
    spare = octets - len(join_feed(longest, [])) - 8
    kept = _whole_days(ordered, _that_fit(rendered, spare, most))
    until = ordered[kept - 1].event.day if kept else last_day
    shortened = _shortened(heading, until)
    left_out = len(ordered) - kept
    message = f"{left_out} of {len(ordered)} events do not fit in one feed; it ends on {_written(until)}"
    return Fitted(join_feed(render_heading(shortened), rendered[:kept]), message)


def _that_fit(rendered: list[bytes], octets: int, most: int) -> int:
    """How many events from the first on stay within the octets and under the count."""
    used = 0
    for count, event in enumerate(rendered[: most - 1]):
        used += len(event)
        if used > octets:
            return count
    return min(len(rendered), most - 1)


def _whole_days(ordered: list[Stamped], count: int) -> int:
    """`count` reduced to the end of a day, unless that leaves nothing."""
    if count == len(ordered):
        return count
    cut_day = ordered[count].event.day
    whole = sum(1 for stamped in ordered[:count] if stamped.event.day < cut_day)
    return whole or count


def _shortened(heading: Heading, until: int) -> Heading:
    note = f"Too much for one feed: shows work until {_written(until)}; what comes later appears in time."
    return replace(heading, description=f"{note} {heading.description}")


def _written(day: int) -> str:
    shown = date.fromordinal(day)
    return f"{shown.day} {MONTHS[shown.month - 1]} {shown.year}"
