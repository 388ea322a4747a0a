"""What a person sees of one event, apart from how it is written down."""

from dataclasses import dataclass

from care_planner.words.line import Line


@dataclass(frozen=True, slots=True)
class Event:
    """One all-day event, every text in it already clean (see `text.one_line`).

    `day` and the days in `lines` are proleptic ordinals. `alarm_minutes` is how long before the day begins
    one alarm sounds (negative: after it has begun), with `alarm` as its text; None is no alarm. `url` is
    empty where no link is known.
    """

    uid: str
    day: int
    title: str
    lines: tuple[Line, ...]
    categories: tuple[str, ...]
    firm: bool = True
    alarm_minutes: int | None = None
    alarm: str = ""
    url: str = ""


@dataclass(frozen=True, slots=True)
class Stamped:
    """An event as it is published: `sequence` counts its revisions, `stamp` is the time of the last one.

    `stamp` is an RFC 5545 UTC DATE-TIME such as "20270301T080000Z"; its text sorts as its time does.
    """

    event: Event
    sequence: int
    stamp: str
