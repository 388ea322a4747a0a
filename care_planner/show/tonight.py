"""The next nights, for terminal and page."""

from collections.abc import Collection, Iterator, Sequence
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
from care_planner.outlook.watch.nights import may_stand_on
from care_planner.outlook.watch.rain import RainAhead
from care_planner.show.passages import Passage
from care_planner.words.days import weekday_words
from care_planner.years.standing import STANDS_AHEAD

NOT_CHOSEN = (
    "No forecast is chosen, so nothing can be said of tonight. Choose one in collection.yaml, such as",
    "  forecast: {service: met-no, contact: you@example.org}",
)
_MOST_NAMED = 4


def tonight_blocks(tonight: Tonight, site: str, now: datetime) -> Iterator[Passage]:
    """Whose forecast and how old, then each night: what it asks for, or that it asks for nothing and why."""
    yield Passage(f"{site}: the next nights. {source_words(tonight.outlook, now)}", tuple(_left_out(tonight)))
    for ahead in range(-1 if tonight.under_way else 0, STANDS_AHEAD + 1):
        day = tonight.today + ahead
        own = [watch for watch in tonight.found if watch.day == day]
        if not any(watch.kind == "frost" for watch in own):
            yield Passage(_quiet(tonight, day))
        for watch in sorted(own, key=lambda one: one.kind):
            lines = tuple(watch_lines(watch, tonight.outlook))
            title = watch_title(watch, tonight.today, tonight.under_way)
            yield Passage(title, lines, urgent=watch.is_alarm)
    if tonight.rain.days:
        yield _rain(tonight.rain)


def _left_out(tonight: Tonight) -> Iterator[str]:
    """Readings of bench thermometers that nothing is learned from."""
    for odd in tonight.odd:
        yield (
            f"The low of {odd.low_c:g} degC read on {weekday_words(odd.day)} ({odd.bench}) is far from the "
            "others of this bench, so nothing is learned from it. Is it mistyped?"
        )


def _rain(rain: RainAhead) -> Passage:
    days = ", ".join(f"{weekday_words(day)} {fallen:.0f} mm" for day, fallen in rain.days)
    lines = []
    for work in rain.works:
        dry = ", ".join(map(weekday_words, work.dry_days))
        instead = f"Dry days in its window: {dry}" if dry else "No dry day of the forecast lies in its window"
        lines.append(
            f"{work.title} is planned for {weekday_words(work.day)}: {_named(work.trees)}. {instead}."
        )
    lines += [f"After it: {title} ({_named(trees)})." for title, trees in rain.looks]
    return Passage(f"Rain: {days}. Work on roots and sprays want a dry day", tuple(lines))


def _named(trees: Sequence[str]) -> str:
    return ", ".join(trees) if len(trees) <= _MOST_NAMED else f"{len(trees)} trees"


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
    standing = {
        bench: own
        for bench, stands in tonight.standing.items()
        if (own := tuple(stand for stand in stands if stand.tree in trees))
    }
    odd = tuple(one for one in tonight.odd if one.bench in may_stand_on(standing))
    return replace(
        tonight, found=tuple(found), standing=standing, rain=_rain_of(tonight.rain, trees), odd=odd
    )


def _rain_of(rain: RainAhead, trees: Collection[str]) -> RainAhead:
    works = [(work, tuple(tree for tree in work.trees if tree in trees)) for work in rain.works]
    looks = [(title, tuple(tree for tree in of if tree in trees)) for title, of in rain.looks]
    return replace(
        rain,
        works=tuple(replace(work, trees=own) for work, own in works if own),
        looks=tuple((title, own) for title, own in looks if own),
    )


def _quiet(tonight: Tonight, day: int) -> str:
    name = night_words(day, tonight.today, tonight.under_way)
    on = may_stand_on(tonight.standing)
    own = [low for low in tonight.lows.get(day, ()) if low.bench in on]
    if not own:
        since = no_forecast_since(tonight.outlook)
        since = since[0].lower() + since[1:]
        if day > tonight.today:
            return f"{name}: {since} that reaches so far"
        return (
            f"{name}: {since}; about this date {chance_words(tonight.usual_chance)} of nights reach a limit"
        )
    low = min(own, key=lambda one: (one.expected_c, one.bench))
    where = f" at {low.bench}, the coldest place," if len(own) > 1 else ""
    return (
        f"{name}: nothing called for. Low of {low.expected_c:.1f} degC expected{where or ','} give or take "
        f"{low.sd_c:.1f}"
    )
