"""What a person sees of one event, apart from how it is written down."""

from dataclasses import dataclass

from care_planner.tasks.model import Window


@dataclass(frozen=True, slots=True)
class Event:
    """One all-day event, every text in it already clean (see `text.one_line`).

    `day` and the days of `window` are proleptic ordinals; `chance` is in whole per cent, because that is
    what is shown and so what a change is measured by; `minutes` of work for all of `trees` together.
    `alarm_hours` is how long before the day begins one alarm sounds; None is no alarm.
    """

    uid: str
    day: int
    title: str
    window: Window
    chance: int
    firm: bool
    minutes: int
    categories: tuple[str, ...]
    trees: tuple[str, ...]
    cautions: tuple[str, ...]
    why: tuple[str, ...]
    what: str = ""
    moved: str = ""
    alarm_hours: int | None = None


@dataclass(frozen=True, slots=True)
class Stamped:
    """An event as it is published: `sequence` counts its revisions, `stamp` is the time of the last one.

    `stamp` is an RFC 5545 UTC DATE-TIME such as "20270301T080000Z"; its text sorts as its time does.
    """

    event: Event
    sequence: int
    stamp: str
