"""The next nights, for terminal and page."""

from collections.abc import Collection, Iterator
from dataclasses import replace
from datetime import datetime

from care_planner.folder.write_tonight import Tonight
from care_planner.outlook.watch.night_words import (
    chance_words,
    night_words,
    no_forecast_since,
    source_words,
    watch_lines,
    watch_title,
)
from care_planner.show.passages import Passage
from care_planner.years.standing import STANDS_AHEAD

NOT_CHOSEN = (
    "No forecast is chosen, so nothing can be said of tonight. Choose one in collection.yaml, such as",
    "  forecast: {service: met-no, contact: you@example.org}",
)


def tonight_blocks(tonight: Tonight, site: str, now: datetime) -> Iterator[Passage]:
    """Whose forecast and how old, then each night: what it asks for, or that it asks for nothing and why."""
    yield Passage(f"{site}: the next nights. {source_words(tonight.outlook, now)}")
    for ahead in range(STANDS_AHEAD + 1):
        day = tonight.today + ahead
        own = [watch for watch in tonight.found if watch.day == day]
        if not any(watch.kind == "frost" for watch in own):
            yield Passage(_quiet(tonight, day))
        for watch in sorted(own, key=lambda one: one.kind):
            lines = tuple(watch_lines(watch, tonight.outlook))
            yield Passage(watch_title(watch, tonight.today), lines, urgent=watch.is_alarm)


def of_trees(tonight: Tonight, trees: Collection[str]) -> Tonight:
    """What concerns some of the trees alone."""
    found = []
    for watch in tonight.found:
        risks = tuple(risk for risk in watch.risks if risk.tree in trees)
        benches = {risk.bench for risk in risks}
        if risks or watch.state == "blind":
            chance = max((risk.chance for risk in risks), default=watch.chance)
            nights = tuple(night for night in watch.benches if night.bench in benches)
            found.append(replace(watch, risks=risks, chance=chance, benches=nights))
    return replace(tonight, found=tuple(found))


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
