"""A day that the forecast moves says so; a move that it cannot have caused does not."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from small_world import FLOWERING, collection, day, pack_text, rule, rulebook, smooth_record

from care_planner.climate.outlook import Outlook, OutlookDay
from care_planner.climate.weather_years import lay_weather_years
from care_planner.outlook.replay.calendars import remembered
from care_planner.plan import make_plan
from care_planner.words.days import weekday_words
from care_planner.words.moves import moved_words
from care_planner.years.move import move_data, move_of
from care_planner.years.previous import NO_PREVIOUS

FEED = rule("feed", "opens: {stage: bud-swell}\ncloses: {of: opens, plus_days: 3}\nchoose: early")
RULES = rulebook(pack_text(FLOWERING, FEED))
TREES = collection({"taxon": "flowering-tree"})
TODAY = day("2008-03-01")
RECORD = smooth_record()
YEARS = lay_weather_years(RECORD, False, TODAY, TODAY + 12, TODAY)
TODAY_IN_AUTUMN = day("2008-12-09")
AUTUMN = lay_weather_years(RECORD, False, TODAY_IN_AUTUMN, TODAY_IN_AUTUMN + 12, TODAY_IN_AUTUMN)


def outlook(warmer_c):
    """The usual of the next ten days, so many degC warmer."""
    lows, highs = (float(np.mean(rows)) for rows in (YEARS.tmin_c[:, :11], YEARS.tmax_c[:, :11]))
    days = tuple(OutlookDay(TODAY + n, n, lows + warmer_c, 1.4, highs + warmer_c, 1.4) for n in range(11))
    return Outlook("simulated", TODAY, datetime(2008, 3, 1, tzinfo=UTC), days)


def planned(previous=NO_PREVIOUS, warmer_c=None):
    given = outlook(warmer_c) if warmer_c is not None else None
    plan = make_plan(TREES, (), held(), RULES, TODAY, previous, outlook=given)
    return plan, next(task for task in plan.tasks if task.rule == "feed" and task.season == 2008)


def held(today=TODAY):
    """The record up to yesterday."""
    count = today - RECORD.first_day
    parts = {name: getattr(RECORD, name)[:count] for name in ("tmin_c", "tmax_c", "tmean_c")}
    return replace(RECORD, **parts)


@pytest.mark.parametrize(("warmer_c", "word"), [(9.0, "warmer"), (-9.0, "colder")])
def test_a_move_by_the_forecast_says_so(warmer_c, word):
    before, old = planned()
    _, new = planned(remembered(before), warmer_c)
    assert (new.day < old.day) is (warmer_c > 0) and new.day != old.day
    said = moved_words(new.move)
    assert "the forecast says that the next days are" in said and f"degC {word} than usual" in said


def test_without_a_forecast_or_with_the_usual_one_it_is_no_reason():
    before, old = planned()
    moved = remembered(before)
    tree = moved.trees["tree-1"]
    # As if it had been planned twelve days later: it moves back without any forecast.
    tasks = {part: replace(task, day=task.day + 12) for part, task in tree.tasks.items()}
    stages = {key: at + 12 for key, at in tree.stages.items()}
    late = replace(moved, trees={"tree-1": replace(tree, tasks=tasks, stages=stages)})
    for given in (None, 0.1):
        _, new = planned(late, given)
        assert new.move is not None and "forecast" not in moved_words(new.move)
    # Colder days to come have made nothing earlier.
    _, new = planned(late, -1.0)
    assert new.day < old.day + 12 and "forecast" not in moved_words(new.move)


SHELTER = rule(
    "shelter",
    "closes: {first_night: {at_most_c: -2.0}, plus_days: -1}\nopens: {of: closes, plus_days: -30}\n"
    "choose: late\neffects: [{moves_to: winter-bench}]\nwithout_note: done",
    kind="shelter",
)
COLD_NIGHT = TODAY_IN_AUTUMN + 6
LOWS, HIGHS = (np.mean(rows, axis=0) for rows in (AUTUMN.tmin_c, AUTUMN.tmax_c))


def sheltered(previous=NO_PREVIOUS, low_c=None):
    """The shelter day planned in autumn, with the usual forecast but for one night of `low_c`."""
    days = [OutlookDay(AUTUMN.first_day + n, n, float(LOWS[n]), 1.4, float(HIGHS[n]), 1.4) for n in range(11)]
    if low_c is not None:
        days[6] = replace(days[6], tmin_c=low_c)
    issued = datetime(2008, 12, 9, tzinfo=UTC)
    given = Outlook("simulated", TODAY_IN_AUTUMN, issued, tuple(days)) if low_c is not None else None
    rules = rulebook(pack_text(FLOWERING, SHELTER))
    plan = make_plan(TREES, (), held(TODAY_IN_AUTUMN), rules, TODAY_IN_AUTUMN, previous, outlook=given)
    return plan, next(task for task in plan.tasks if task.rule == "shelter" and task.season == 2008)


def test_a_single_cold_night_that_moved_a_day_is_named():
    before, old = sheltered()
    _, new = sheltered(remembered(before), -7.0)
    assert new.day < old.day
    said = moved_words(new.move)
    assert f"by the forecast the night to {weekday_words(COLD_NIGHT)} is expected at -4 degC" in said
    assert move_of(move_data(new.move), "") == new.move
    # A forecast of the usual nights names none, whichever day it moves.
    late = remembered(before)
    tree = late.trees["tree-1"]
    tasks = {part: replace(task, day=task.day + 9) for part, task in tree.tasks.items()}
    _, new = sheltered(replace(late, trees={"tree-1": replace(tree, tasks=tasks)}), float(LOWS[6]))
    assert new.day < old.day + 9 and "by the forecast" not in moved_words(new.move)
