"""The same weather every day, and a tree that waits for warmth alone: every answer is known by hand."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from noted_seasons import FIRST, OPEN
from small_world import FLOWERING, LATITUDE, day, pack_text, rule, rulebook, smooth_record

from care_planner.climate.record import WeatherRecord
from care_planner.collection.site import Bench
from care_planner.learning.notes import Note, TreeNotes, notes_of
from care_planner.learning.past import PastWeather
from care_planner.stages.history import History

SEASON = 2009
SINCE = day(f"{SEASON}-02-01")
# 10 degC above a base of 5 gives 5 a day; 200 take 40 days from 1 February, so the taxon's day is 12 March.
EVEN_C, DAILY, NEED = 10.0, 5.0, 200.0
TEXT = FLOWERING.replace(
    "{warmth: {by: {method: single-sine, base_c: 5}, sum: 250}, since: {stage: bud-swell}}",
    "{warmth: {by: {method: average, base_c: 5}, sum: 200}, since: {month_day: '02-01'}}",
)
REPOT = rule(
    "repot",
    "heavy: true\nopens: {month_day: '02-02'}\ncloses: {month_day: '03-01'}\n"
    "effects: [{sets_back: {stages: [first-flower], days: 6}}]",
    "roots",
)
MOVES = (
    rule(
        "shelter",
        "opens: {month_day: '12-01'}\ncloses: {month_day: '12-02'}\neffects: [{moves_to: winter-bench}]",
    ),
    rule(
        "bring-out", "opens: {month_day: '02-11'}\ncloses: {month_day: '02-20'}\neffects: [{moves_to: bench}]"
    ),
)
RULES = rulebook(pack_text(TEXT, REPOT))
EVEN = RULES.taxa["flowering-tree"]
WITH_MOVES = rulebook(pack_text(TEXT, *MOVES))
TREE = {"taxon": "flowering-tree"}


def even_record(mean_c: float = EVEN_C) -> WeatherRecord:
    """The same temperature day and night, all years."""
    flat = np.full(len(smooth_record().tmin_c), mean_c)
    return replace(smooth_record(), tmin_c=flat, tmax_c=flat, tmean_c=flat)


def even_past(until: str = "2012-01-10") -> PastWeather:
    benches = {"open": Bench(), "shed": Bench.model_validate({"floor_c": "15"})}
    return PastWeather(even_record(), LATITUDE, benches, day(until))


def read(
    told: Mapping[str, Any] | None = None, weather: PastWeather | None = None, **tree: Any
) -> list[Note]:
    """What one tree's history teaches of its first flower."""
    made = TreeNotes("a", History(**(told or {})), OPEN, **tree)
    return [note for note in notes_of(made, EVEN, weather or even_past()) if note.stage == FIRST]


def flower(days: int, season: int = SEASON) -> dict[str, Any]:
    """First flower seen after so many days of February's warmth: the last of them is the day itself."""
    return {"stages": {(FIRST, season): day(f"{season}-02-01") + days - 1}}
