"""Moments of a rule in words: part of a sentence."""

from collections.abc import Callable

from care_planner.rulebook.moment import Moment, Warmth
from care_planner.words.days import MONTHS

_SEASONS = {"previous": " of the season before", "this": "", "next": " of the next season"}


def plain(id: str) -> str:
    """The id of a stage, a work or a sign as words: `end of bloom`."""
    return id.replace("-", " ")


def moment_words(moment: Moment) -> str:
    """A moment as part of a sentence: `3 days after a third of the flowers open`."""
    words = _WORDS[moment.kind](moment) + _SEASONS[moment.season]
    if moment.plus_days:
        count = abs(moment.plus_days)
        unit = "day" if count == 1 else "days"
        words = f"{count} {unit} {'after' if moment.plus_days > 0 else 'before'} {words}"
    return words


def warmth_words(sum_: float, by: Warmth) -> str:
    """A sum of warmth with its method."""
    if by.method == "sigmoid":
        return f"{sum_:g} warm days (one of {by.midpoint_c:g} degC counts half, a warmer one more)"
    if by.method == "cold":
        return f"{sum_:g} degree-days below {by.base_c:g} degC"
    upper = f", no more above {by.upper_c:g}" if by.upper_c is not None else ""
    return f"{sum_:g} degree-days above {by.base_c:g} degC ({by.method.replace('-', ' ')}{upper})"


def _since(moment: Moment) -> str:
    return f" since {moment_words(moment.since)}" if moment.since is not None else ""


def _share(moment: Moment) -> str:
    assert moment.share_open is not None
    return f"{moment.share_open:.0%} of the flowers open"


def _warmth(moment: Moment) -> str:
    assert moment.warmth is not None
    return f"{warmth_words(moment.warmth.sum, moment.warmth.by)}{_since(moment)}"


def _chill(moment: Moment) -> str:
    assert moment.chill is not None
    by = moment.chill.by
    unit = "Utah chill units" if by.method == "utah" else f"hours between {by.low_c:g} and {by.high_c:g} degC"
    return f"{moment.chill.sum:g} {unit}{_since(moment)}"


def _held(moment: Moment) -> str:
    assert moment.held is not None
    held = moment.held
    of = {"mean": "a mean", "max": "a high", "min": "a night"}[held.of]
    side = (
        f"{held.at_most_c:g} degC or less"
        if held.at_most_c is not None
        else f"{held.at_least_c:g} degC or more"
    )
    run = "a day" if held.days == 1 else f"{held.days} days running"
    last = ", for the last time in the year" if held.which == "last" else ""
    since = f", once it is past {moment_words(moment.since)}" if moment.since is not None else ""
    if moment.since is not None and moment.since.kind == "day_length":
        since = f", once there are {moment_words(moment.since)}"
    return f"{run} with {of} of {side}{last}{since}"


def _night(which: str, limit: float | str) -> str:
    shown = "at the tree's frost limit" if isinstance(limit, str) else f"of {limit:g} degC or less"
    return f"the {which} night {shown}"


def _day_length(moment: Moment) -> str:
    assert moment.day_length is not None
    hours = moment.day_length
    if hours.at_most_h is not None:
        return f"days shorter than {hours.at_most_h:g} h"
    return f"days longer than {hours.at_least_h:g} h"


def _leaving(moment: Moment) -> str:
    assert moment.last_day_leaving is not None
    leaving = moment.last_day_leaving
    left = warmth_words(leaving.sum, leaving.by)
    return f"the last day that leaves {left} before {moment_words(leaving.before)}"


def _month_day(moment: Moment) -> str:
    assert moment.month_day is not None
    month, day = map(int, moment.month_day.split("-"))
    return f"{day} {MONTHS[month - 1]} (in the south half a year on)"


def _list(which: str, parts: list[Moment] | None) -> str:
    return f"whichever comes {which}: " + "; or ".join(moment_words(part) for part in parts or ())


_WORDS: dict[str, Callable[[Moment], str]] = {
    "stage": lambda m: plain(str(m.stage)),
    "share_open": _share,
    "warmth": _warmth,
    "chill": _chill,
    "held": _held,
    "first_night": lambda m: _night("first", m.first_night.at_most_c if m.first_night else 0.0),
    "last_night": lambda m: _night("last", m.last_night.at_most_c if m.last_night else 0.0),
    "day_length": _day_length,
    "work": lambda m: plain(str(m.work)),
    "noted_work": lambda m: f"{plain(str(m.noted_work))} noted as done",
    "last_cut": lambda m: "the last cut of this season",
    "sign": lambda m: f"{plain(str(m.sign))} noted",
    "month_day": _month_day,
    "last_day_leaving": _leaving,
    "earliest": lambda m: _list("first", m.earliest),
    "latest": lambda m: _list("last", m.latest),
    "of": lambda m: "its opening" if m.of == "opens" else "its close",
}
