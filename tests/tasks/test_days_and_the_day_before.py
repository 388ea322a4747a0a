"""Boundaries in pairs: the day, and the day before or after, at which something changes."""

from typing import Any

import numpy as np
import pytest
from one_tree import SHELTER, shown, window, years_of
from small_world import PLAIN, collection, day, outcome, pack_text, rule, rulebook, smooth_record, warmer

from care_planner.climate.record import WeatherRecord
from care_planner.years.basis import Basis
from care_planner.years.place import day_chance
from care_planner.years.previous import PreviousTask, PreviousTree, work_part
from care_planner.years.profiles import Profile, noted_trees, resolve_profile

TEN_POINTS = 0.1


def test_a_rest_counts_from_the_last_of_several_noted_days() -> None:
    body = (
        rule("pinch", window("03-01", "03-20")),
        rule("prune", window("03-01", "05-30") + "rests: [{after: [pinch], days: 20}]\nchoose: ready"),
    )
    noted = [{"date": "2021-03-02", "did": "pinch"}, {"date": "2021-03-12", "did": "pinch"}]
    made = years_of(
        *body, noted=noted, today="2021-03-13", people={"days": ["mon", "tue", "wed", "thu", "fri"]}
    )
    found = outcome(made, "prune")
    assert found.window is not None and found.window.median("opens") == day("2021-03-12") + 20
    assert day(shown(found)[0]) >= day("2021-03-12") + 20


@pytest.mark.parametrize(("done", "is_late"), [("2021-03-20", False), ("2021-03-21", True)])
def test_done_late_begins_with_the_day_after_the_window(done: str, is_late: bool) -> None:
    body = rule(
        "cut", window("03-01", "03-20") + "effects: [{if_late: yes, set: {buds: none}, season: next}]"
    )
    made = years_of(body, noted=[{"date": done, "did": "cut"}], today="2021-04-10")
    assert (outcome(made, "cut").late_after is not None) == is_late


def with_cold_nights(seasons: int) -> WeatherRecord:
    """A mild record in which one autumn in so many of the last ones has a frost."""
    record = warmer(smooth_record(), 12.0)
    tmin = record.tmin_c.copy()
    for year in range(2012 - seasons, 2012):
        at = day(f"{year}-12-01") - record.first_day
        tmin[at] = -8.0
    return WeatherRecord(
        record.first_day, tmin, np.maximum(record.tmax_c, tmin), record.tmean_c, source="made up"
    )


@pytest.mark.parametrize(("seasons", "planned"), [(0, False), (3, True)])
def test_shelter_is_planned_where_frost_is_likelier_than_the_risk(seasons: int, planned: bool) -> None:
    """Three of twelve autumns are more than the risk of one in ten, though far from half."""
    made = years_of(rule("shelter", SHELTER), record=with_cold_nights(seasons), risk={"frost": 0.1})
    assert (outcome(made, "shelter").state == "planned") == planned


def republished(published: int | None) -> Any:
    """A work in a window that differs between years, with the day that was published for it."""
    body = rule("work", "opens: {stage: flush}\ncloses: {stage: flush, plus_days: 14}")
    rules, trees = rulebook(pack_text(PLAIN.replace("spread: 0.1", "spread: 0.05"), body)), collection({})
    basis = Basis(trees, smooth_record(), rules, day("2021-01-10"))
    ((_, facts, entries),) = noted_trees(trees, [], basis.shared)
    before = (
        {}
        if published is None
        else {work_part("work", 2021, 1): PreviousTask(published, "Work", "work", "work", 2021, None, None)}
    )
    return outcome(
        resolve_profile(Profile(facts, entries, PreviousTree(before)), rules, basis.shared), "work"
    )


def test_a_published_day_stands_only_while_little_is_missed() -> None:
    """Up to ten points of chance it stays; with twice that to gain it moves."""
    free = republished(None)
    best = free.days[0][1]
    stays, moves = [], []
    for other in range(best - 12, best + 13):
        gain = day_chance(free.rule, free.window, best) - day_chance(free.rule, free.window, other)
        if other == best or not free.window.median("opens") <= other <= free.window.median("closes"):
            continue
        (stays if gain < TEN_POINTS else moves).append((gain, other))
    assert stays and moves and min(moves)[0] < 2 * TEN_POINTS, (stays, moves)
    assert republished(max(stays)[1]).days[0][1] == max(stays)[1]
    assert republished(min(moves)[1]).days[0][1] == best
