"""One run of the watch: what stands of the next nights, remembered, and a person called where it is due."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from care_planner.climate.outlook import Outlook
from care_planner.folder.fetch_alarm import tell
from care_planner.folder.fetch_weather import WEATHER_STORE
from care_planner.folder.read_folder import Inputs
from care_planner.outlook.watch.bench_lows import OddLow, learned_skies
from care_planner.outlook.watch.bench_sky import BenchNight, bench_night
from care_planner.outlook.watch.night_words import source_words, watch_lines, watch_title
from care_planner.outlook.watch.nights import (
    NIGHT_ENDS_HOUR,
    STALE_AFTER_H,
    NightWatch,
    may_stand_on,
    watches,
)
from care_planner.outlook.watch.rain import RainAhead, rain_ahead
from care_planner.outlook.watch.read_watches import Written, read_watches
from care_planner.outlook.watch.tell import after_run, untold
from care_planner.outlook.watch.usual import usual_chance
from care_planner.outlook.watch.write_watches import write_watches
from care_planner.plan import Plan
from care_planner.years.standing import Stand, benches_of


@dataclass(frozen=True)
class Tonight:
    """What is called for in the next nights, with the trees on every bench tonight.

    lows: what is expected on each bench with trees, by the night's evening. odd: readings that are left out.
    under_way: the night that ends this morning is not over.
    """

    today: int
    outlook: Outlook
    found: tuple[NightWatch, ...]
    standing: dict[str, tuple[Stand, ...]]
    usual_chance: float
    rain: RainAhead
    lows: Mapping[int, Sequence[BenchNight]]
    odd: tuple[OddLow, ...] = ()
    under_way: bool = False


def look_ahead(
    inputs: Inputs, plan: Plan, outlook: Outlook, before: Mapping[str, Written], now: datetime
) -> Tonight:
    """What the forecast says of the next nights for every tree, where the plan has it stand.

    `now`, in the site's zone: what tells whether the night before is over and how old the forecast is.
    """
    today, benches = plan.today, inputs.collection.benches
    there = {day: benches_of(stands) for day, stands in plan.stands.items()}
    states = {key: written.state for key, written in before.items()}
    read, odd = learned_skies(inputs.collection, inputs.entries, inputs.record, outlook.skies)
    usual = usual_chance(inputs.record, today + 1, there[today], benches, read)
    issued, under_way = outlook.issued, now.hour < NIGHT_ENDS_HOUR
    is_stale = issued is not None and now - issued > timedelta(hours=STALE_AFTER_H)
    setting = inputs.collection.alarm.setting
    found = watches(there, benches, outlook, setting, states, usual, read, is_stale, under_way)
    lows: dict[int, Sequence[BenchNight]] = {}
    for evening in range(today - 1, max(there) + 1):
        expected = outlook.of(evening + 1)
        if expected is not None and not math.isnan(expected.tmin_c):
            on = may_stand_on(there[max(evening, today)])
            lows[evening] = [bench_night(name, benches[name], expected, read) for name in on]
    rain = rain_ahead(plan, outlook)
    return Tonight(today, outlook, found, dict(there[today]), usual, rain, lows, odd, under_way)


def watch_run(folder: Path, inputs: Inputs, plan: Plan, now: datetime) -> tuple[Tonight | None, list[str]]:
    """Look ahead from `now` (in the site's zone), remember it, and call a person. None without a forecast.

    `plan` is of the same day.
    """
    outlook = inputs.outlook
    if outlook is None:
        return None, []
    store, today = folder / WEATHER_STORE, plan.today
    before = read_watches(store)
    tonight = look_ahead(inputs, plan, outlook, before, now)
    written, calls = after_run(before, tonight.found, today, now.hour)
    messages = []
    for watch in calls:
        text = "\n".join((*watch_lines(watch, outlook), source_words(outlook, now)))
        choice = inputs.collection.alarm
        failed = tell(choice, watch_title(watch, today), text)
        messages += failed
        if failed and len(failed) == sum(way is not None for way in (choice.command, choice.mail)):
            written = untold(written, before, watch)
    try:
        write_watches(store, written, today)
    except OSError as error:
        messages.append(f"what was called could not be kept ({error.strerror or error})")
    return tonight, messages
