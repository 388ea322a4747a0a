"""Moments of a rule in words: part of a sentence."""

from collections.abc import Callable

from care_planner.rulebook.moment import Moment, Warmth

_SEASONS = {"previous": " of the season before", "this": "", "next": " of the next season"}


def moment_words(moment: Moment) -> str:
    """A moment as part of a sentence: `a third of the flowers are open plus 3 days`."""
    words = _WORDS[moment.kind](moment) + _SEASONS[moment.season]
    if moment.plus_days:
        count = abs(moment.plus_days)
        unit = "day" if count == 1 else "days"
        words = f"{count} {unit} {'after' if moment.plus_days > 0 else 'before'} {words}"
    return words


def warmth_words(by: Warmth) -> str:
    """The method of a warmth sum."""
    if by.method == "sigmoid":
        return f"days of full forcing (half rate at {by.midpoint_c:g} degC)"
    if by.method == "cold":
        return f"degree-days below {by.base_c:g} degC"
    upper = f", no more above {by.upper_c:g}" if by.upper_c is not None else ""
    return f"degree-days above {by.base_c:g} degC ({by.method.replace('-', ' ')}{upper})"


def _since(moment: Moment) -> str:
    return f" from {moment_words(moment.since)}" if moment.since is not None else ""


def _share(moment: Moment) -> str:
    assert moment.share_open is not None
    return f"{moment.share_open:.0%} of the flowers being open"


def _warmth(moment: Moment) -> str:
    assert moment.warmth is not None
    return f"{moment.warmth.sum:g} {warmth_words(moment.warmth.by)}{_since(moment)}"


def _chill(moment: Moment) -> str:
    assert moment.chill is not None
    by = moment.chill.by
    unit = "Utah chill units" if by.method == "utah" else f"hours between {by.low_c:g} and {by.high_c:g} degC"
    return f"{moment.chill.sum:g} {unit}{_since(moment)}"


def _held(moment: Moment) -> str:
    assert moment.held is not None
    held = moment.held
    of = {"mean": "daily mean", "max": "daily high", "min": "night"}[held.of]
    side = f"at most {held.at_most_c:g}" if held.at_most_c is not None else f"at least {held.at_least_c:g}"
    run = "on one day" if held.days == 1 else f"held for {held.days} days"
    if held.which == "last":
        run += " for the last time in the year"
    return f"a {of} of {side} degC {run}{_since(moment)}"


def _night(which: str, limit: float | str) -> str:
    shown = "the tree's frost limit" if isinstance(limit, str) else f"{limit:g} degC"
    return f"the {which} night at or under {shown}"


def _day_length(moment: Moment) -> str:
    assert moment.day_length is not None
    hours = moment.day_length
    if hours.at_most_h is not None:
        return f"days shorter than {hours.at_most_h:g} h"
    return f"days longer than {hours.at_least_h:g} h"


def _leaving(moment: Moment) -> str:
    assert moment.last_day_leaving is not None
    leaving = moment.last_day_leaving
    return (
        f"the last day that leaves {leaving.sum:g} {warmth_words(leaving.by)} before "
        f"{moment_words(leaving.before)}"
    )


def _list(which: str, parts: list[Moment] | None) -> str:
    return f"the {which} of: " + "; ".join(moment_words(part) for part in parts or ())


_WORDS: dict[str, Callable[[Moment], str]] = {
    "stage": lambda m: str(m.stage),
    "share_open": _share,
    "warmth": _warmth,
    "chill": _chill,
    "held": _held,
    "first_night": lambda m: _night("first", m.first_night.at_most_c if m.first_night else 0.0),
    "last_night": lambda m: _night("last", m.last_night.at_most_c if m.last_night else 0.0),
    "day_length": _day_length,
    "work": lambda m: str(m.work),
    "noted_work": lambda m: f"{m.noted_work} being noted as done",
    "last_cut": lambda m: "the last cut of this season",
    "sign": lambda m: f"{m.sign} being noted",
    "month_day": lambda m: f"month-day {m.month_day} (northern)",
    "last_day_leaving": _leaving,
    "earliest": lambda m: _list("earliest", m.earliest),
    "latest": lambda m: _list("latest", m.latest),
    "of": lambda m: "its opening" if m.of == "opens" else "its close",
}
