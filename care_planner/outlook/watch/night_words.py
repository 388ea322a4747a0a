"""A watch in words: for the terminal, the calendar, a mail. Never that there will be no frost."""

from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta

from care_planner.climate.outlook import Outlook
from care_planner.outlook.watch.nights import NightWatch, TreeRisk
from care_planner.words.days import WEEKDAYS, short_day, weekday_words
from care_planner.years.standing import Unnoted

# Shares of a whole that people say, from often to seldom.
_SAID = ((0.95, "nearly certain"), (0.85, "9 in 10"), (0.7, "3 in 4"), (0.58, "2 in 3"), (0.42, "1 in 2"))
_SELDOM = ((0.29, "1 in 3"), (0.22, "1 in 4"), (0.15, "1 in 6"), (0.08, "1 in 10"), (0.04, "1 in 20"))
_WHY = {
    "told": "the limit you told",
    "hardened": "hardened, roots in a pot",
    "young": "young",
    "roots": "roots worked this season",
    "buds": "its buds are moving",
    "shoots": "its shoots are out",
    "flowers": "in flower",
    "heat": "any tree in a pot",
}
_LOST = {"tree": "the tree", "flowers": "a year of flowers", "growth": "a year of growth"}
FROST_ADVICE = (
    "Before dusk: move what you can under cover or close together against a wall; cover the rest with "
    "fleece down to the pot. Water dry pots in the afternoon. Uncover by day."
)
UNDER_WAY_ADVICE = (
    "The night is under way, and its coldest hour is the one before sunrise: what still stands outside can "
    "be covered now, with fleece down to the pot."
)
HEAT_ADVICE = (
    "In the morning: water through, move into shade, and keep the pots themselves out of the sun. A second "
    "watering late in the day if the surface is dry."
)
FROST_AHEAD = "Until then: make room under cover and have fleece at hand. Each new forecast may change this."
HEAT_AHEAD = "Until then: put up shade and fill the cans. Each new forecast may change this."
_MOST_TREES, _TITLED = 8, 3
# Services make two forecasts a day at the least.
OLD_AFTER_H = 12
# Of trees of which no note tells the move: what must be so for them to be in danger, and what to do about it.
_IF: dict[Unnoted, str] = {"": "", "in": "if still outside", "out": "if out already"}
_IF_WHY: dict[Unnoted, str] = {
    "": "",
    "in": "no note tells that they went in; note it once they are",
    "out": "their day to come out has passed without a note; note moved-to and where they stand",
}


def chance_words(chance: float) -> str:
    """A chance as people say it: 1 in 4."""
    for least, words in (*_SAID, *_SELDOM):
        if chance >= least:
            return words
    return "less than 1 in 20"


def watch_title(watch: NightWatch, today: int, under_way: bool = False) -> str:
    """One line for a calendar: what, how sure, on which trees.

    under_way: the night before `today` is not over, so that "tonight" could be either.
    """
    when = _when(watch, today, under_way)
    if watch.state == "blind":
        day = watch.since
        since = f"since {weekday_words(day)}" if day else f"for {when}"
        return f"No forecast {since}: look at another service"
    what = "Frost" if watch.kind == "frost" else "Heat"
    if watch.state == "withdrawn":
        return f"Withdrawn: {what.lower()} {when} is now {chance_words(watch.chance)}"
    what = f"{what} may come {when}" if watch.state == "possible" else f"{what} {when}"
    trees = "; ".join(_titled(unnoted, risks) for unnoted, risks in _by_doubt(watch))
    return f"{what}, {chance_words(watch.chance)}: {trees}"


def _titled(unnoted: Unnoted, risks: Sequence[TreeRisk]) -> str:
    more = len(risks) - _TITLED
    names = ", ".join(risk.tree for risk in risks[:_TITLED]) + (f" and {more} more" if more > 0 else "")
    return f"{_IF[unnoted]}: {names}" if unnoted else names


def _by_doubt(watch: NightWatch) -> list[tuple[Unnoted, list[TreeRisk]]]:
    """Trees where the plan has them first, then those of which no note tells the move."""
    found: list[tuple[Unnoted, list[TreeRisk]]] = [
        (unnoted, [risk for risk in watch.risks if risk.unnoted == unnoted]) for unnoted in _IF
    ]
    return [(unnoted, risks) for unnoted, risks in found if risks]


def watch_lines(watch: NightWatch, outlook: Outlook) -> Iterator[str]:
    """What is expected where, for which trees, what to do and what it costs to do nothing."""
    if watch.state == "blind":
        last = outlook.of(watch.day + 1)
        said = f" It said {last.tmin_c:.1f} degC for this night." if last is not None else ""
        yield (
            f"{no_forecast_since(outlook)}.{said} About this date {watch.chance:.0%} of the record's nights "
            "reach a limit, so silence would say nothing: look at another service before dusk."
        )
        return
    for bench in watch.benches:
        sky = f", {_degrees(-bench.sky_c)} degC of it for a clear, still night"
        sky = sky if bench.sky_c <= -0.05 else ""
        low = "low" if watch.kind == "frost" else "high"
        yield f"{bench.bench}: a {low} of {bench.expected_c:.1f} degC, give or take {bench.sd_c:.1f}{sky}"
    for unnoted, risks in _by_doubt(watch):
        if unnoted:
            yield f"{_IF[unnoted].capitalize()} ({_IF_WHY[unnoted]}):"
        for risk in risks[:_MOST_TREES]:
            yield f"  {_risk_words(risk, watch)}"
        if len(risks) > _MOST_TREES:
            yield f"  and {_and_more(risks[_MOST_TREES:])}"
    if watch.state == "withdrawn":
        yield "An earlier forecast called for care; this one does not. It may change again."
        return
    is_frost = watch.kind == "frost"
    if watch.day < outlook.today:
        yield UNDER_WAY_ADVICE
    elif watch.day == outlook.today:
        yield FROST_ADVICE if is_frost else HEAT_ADVICE
    else:
        yield FROST_AHEAD if is_frost else HEAT_AHEAD
    lost = sorted({_LOST[risk.loss] for risk in watch.risks})
    yield f"Doing nothing may cost {' and '.join(lost)}."


def made_words(outlook: Outlook, now: datetime | None) -> str:
    """Whose forecast it is, with when it was made where that is over `OLD_AFTER_H` ago."""
    issued = outlook.issued
    if now is None or issued is None or now - issued <= timedelta(hours=OLD_AFTER_H):
        return f"Forecast: {outlook.attribution}."
    made = issued.astimezone(now.tzinfo)
    return f"Forecast of {weekday_words(made.toordinal())} {made:%H:%M}: {outlook.attribution}."


def source_words(outlook: Outlook, now: datetime) -> str:
    """Whose forecast it is and how old."""
    if outlook.issued is None:
        return f"No forecast has come from {outlook.service} yet"
    hours = max((now - outlook.issued).total_seconds() / 3600, 0.0)
    age = (
        "less than an hour" if hours < 1 else f"{hours:.0f} hours" if hours < 48 else f"{hours / 24:.0f} days"
    )
    made = outlook.issued.astimezone(now.tzinfo)
    old = "; no newer one has come" if hours >= OLD_AFTER_H else ""
    # After some days a weekday alone could be any.
    day = WEEKDAYS[made.weekday()] if hours < 144 else weekday_words(made.toordinal())
    return f"Forecast of {day} {made:%H:%M}, {age} old{old} ({outlook.attribution})"


def no_forecast_since(outlook: Outlook) -> str:
    """Since when there is none."""
    if outlook.issued is None:
        return "No forecast has come yet"
    day = date.fromordinal(outlook.issued.date().toordinal())
    return f"No forecast since {WEEKDAYS[day.weekday()]} {short_day(day.toordinal())}"


def night_words(day: int, today: int, under_way: bool = False) -> str:
    """Tonight, tomorrow night, or the night of a day; `under_way` as in `watch_title`."""
    names = {-1: "This night, until morning", 0: "Tonight", 1: "Tomorrow night"}
    if under_way:
        names[0] = "The coming night"
    return names.get(day - today, f"The night of {weekday_words(day)}")


def _when(watch: NightWatch, today: int, under_way: bool) -> str:
    ahead = watch.day - today
    if watch.kind == "heat":
        return {0: "today", 1: "tomorrow"}.get(ahead, f"on {weekday_words(watch.day)}")
    names = {-1: "this night, until morning", 0: "tonight", 1: "tomorrow night"}
    if under_way:
        names[0] = "in the coming night"
    return names.get(ahead, f"on the night of {weekday_words(watch.day)}")


def _degrees(value: float) -> str:
    """A tenth of a degree is more than a bench thermometer tells."""
    return f"{value:.1f}".removesuffix(".0")


def _and_more(risks: Sequence[TreeRisk]) -> str:
    return f"{len(risks)} more tree{'s' if len(risks) > 1 else ''}"


def _risk_words(risk: TreeRisk, watch: NightWatch) -> str:
    bears = f"{risk.tree} bears {risk.limit_c:g} degC ({_WHY[risk.because]})"
    apart = abs(risk.margin_c)
    beyond = "colder" if watch.kind == "frost" else "hotter"
    within = "warmer" if watch.kind == "frost" else "cooler"
    side = beyond if risk.margin_c <= 0 else within
    expected = f"{apart:.1f} degC {side} than that" if apart >= 0.05 else "just as much"
    return f"{bears}; {expected} is expected: {chance_words(risk.chance)}"
