"""The watch of a night or a hot day as an event: one identity, whatever later runs make of it."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from care_planner.calendar.event import Event
from care_planner.calendar.events import Maker
from care_planner.calendar.text import one_line
from care_planner.climate.outlook import Outlook
from care_planner.outlook.watch.night_words import made_words, watch_lines, watch_title
from care_planner.outlook.watch.nights import NightWatch
from care_planner.outlook.watch.read_watches import KEPT_DAYS
from care_planner.words.line import line

CATEGORY = "frost and heat"
# Minutes after the day has begun: frost at 16 h, heat at 7 h.
FROST_ALARM_MINUTES, HEAT_ALARM_MINUTES = 16 * 60, 7 * 60


def past_nights(shown: Iterable[Event], today: int) -> list[Event]:
    """Of a feed's events those of nights and hot days that have passed, as they are: they stay a while."""
    return [
        event for event in shown if CATEGORY in event.categories and today - KEPT_DAYS < event.day < today
    ]


def night_events(
    found: Iterable[NightWatch], outlook: Outlook, make: Maker, now: datetime | None = None
) -> list[Event]:
    """The events of what stands. An alarm sounds on the day itself, but not for what was withdrawn.

    now: names when a forecast was made that is old by then.
    """
    events = []
    for watch in found:
        title = watch_title(watch, watch.day)
        words = [*watch_lines(watch, outlook), made_words(outlook, now)]
        made = make.event(watch.key, watch.day, title, map(line, words), [CATEGORY])
        at = FROST_ALARM_MINUTES if watch.kind == "frost" else HEAT_ALARM_MINUTES
        sounds = replace(made, alarm_minutes=-at, alarm=one_line(title)) if watch.is_alarm else made
        events.append(replace(sounds, firm=watch.state in ("firm", "blind")))
    return events
