"""One run of the watch: what stands of the next nights, remembered, and a person called where it is due."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from care_planner.climate.outlook import Outlook
from care_planner.folder.fetch_alarm import tell
from care_planner.folder.fetch_weather import WEATHER_STORE
from care_planner.folder.read_folder import Inputs
from care_planner.outlook.watch.bench_lows import learned_skies
from care_planner.outlook.watch.night_words import source_words, watch_lines, watch_title
from care_planner.outlook.watch.nights import NightWatch, watches
from care_planner.outlook.watch.rain import RainAhead, rain_ahead
from care_planner.outlook.watch.read_watches import Written, read_watches
from care_planner.outlook.watch.tell import after_run
from care_planner.outlook.watch.usual import usual_chance
from care_planner.outlook.watch.write_watches import write_watches
from care_planner.plan import Plan
from care_planner.years.standing import Stand, benches_of


@dataclass(frozen=True)
class Tonight:
    """What is called for in the next nights, with the trees on every bench tonight."""

    today: int
    outlook: Outlook
    found: tuple[NightWatch, ...]
    standing: dict[str, tuple[Stand, ...]]
    usual_chance: float
    rain: RainAhead


def look_ahead(inputs: Inputs, plan: Plan, outlook: Outlook, before: Mapping[str, Written]) -> Tonight:
    """What the forecast says of the next nights for every tree, where the plan has it stand."""
    today, benches = plan.today, inputs.collection.benches
    there = {day: benches_of(stands) for day, stands in plan.stands.items()}
    usual = usual_chance(inputs.record, today + 1, there[today], benches)
    states = {key: written.state for key, written in before.items()}
    read = learned_skies(inputs.collection, inputs.entries, inputs.record, outlook.skies)
    setting = inputs.collection.alarm.setting
    found = watches(there, benches, outlook, setting, states, usual, read)
    rain = rain_ahead(plan, outlook)
    return Tonight(today, outlook, found, dict(there[today]), usual, rain)


def watch_run(folder: Path, inputs: Inputs, plan: Plan, now: datetime) -> tuple[Tonight | None, list[str]]:
    """Look ahead from `now` (in the site's zone), remember it, and call a person. None without a forecast.

    `plan` is of the same day.
    """
    outlook = inputs.outlook
    if outlook is None:
        return None, []
    store, today = folder / WEATHER_STORE, plan.today
    before = read_watches(store)
    tonight = look_ahead(inputs, plan, outlook, before)
    written, calls = after_run(before, tonight.found, today, now.hour)
    messages = []
    for watch in calls:
        text = "\n".join((*watch_lines(watch, outlook), source_words(outlook, now)))
        messages += tell(inputs.collection.alarm, watch_title(watch, today), text)
    try:
        write_watches(store, written, today)
    except OSError as error:
        messages.append(f"what was called could not be kept ({error.strerror or error})")
    return tonight, messages
