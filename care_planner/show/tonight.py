"""The next nights for a terminal of 80 columns."""

from collections.abc import Iterator
from datetime import datetime

from care_planner.climate.outlook import Outlook
from care_planner.folder.write_tonight import Tonight
from care_planner.outlook.watch.night_words import (
    chance_words,
    night_words,
    no_forecast_since,
    source_words,
    watch_lines,
    watch_title,
)
from care_planner.outlook.watch.nights import NightWatch
from care_planner.show.plan import wrapped
from care_planner.years.standing import STANDS_AHEAD

NOT_CHOSEN = (
    "No forecast is chosen, so nothing can be said of tonight. Choose one in collection.yaml, such as",
    "  forecast: {service: met-no, contact: you@example.org}",
)


def tonight_lines(tonight: Tonight, site: str, now: datetime) -> Iterator[str]:
    """Whose forecast and how old, then each night: what it asks for, or that it asks for nothing and why."""
    yield from wrapped(f"{site}: the next nights. {source_words(tonight.outlook, now)}")
    for ahead in range(STANDS_AHEAD + 1):
        day = tonight.today + ahead
        own = [watch for watch in tonight.found if watch.day == day]
        yield ""
        if not any(watch.kind == "frost" for watch in own):
            yield from wrapped(_quiet(tonight, day))
        for watch in sorted(own, key=lambda one: one.kind):
            yield from _watch(watch, tonight.outlook, tonight.today)


def _watch(watch: NightWatch, outlook: Outlook, today: int) -> Iterator[str]:
    yield from wrapped(watch_title(watch, today))
    for line in watch_lines(watch, outlook):
        indent = "    " if line.startswith("  ") else "  "
        yield from wrapped(line.strip(), indent, indent + "  ")


def _quiet(tonight: Tonight, day: int) -> str:
    name = night_words(day, tonight.today)
    expected = tonight.outlook.of(day + 1)
    if expected is None or expected.tmin_c != expected.tmin_c:
        since = no_forecast_since(tonight.outlook)
        since = since[0].lower() + since[1:]
        if day > tonight.today:
            return f"{name}: {since} that reaches so far"
        return (
            f"{name}: {since}; about this date {chance_words(tonight.usual_chance)} of nights reach a limit"
        )
    return (
        f"{name}: nothing called for. Low of {expected.tmin_c:.1f} degC expected, give or take "
        f"{expected.tmin_sd_c:.1f}"
    )
