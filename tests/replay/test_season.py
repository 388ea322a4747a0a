"""A season lived again: no day sees its future, and the alarms that the settings promise."""

from dataclasses import replace
from itertools import takewhile

import numpy as np
import pytest
from small_world import FLOWERING, collection, day, pack_text, rulebook, smooth_record

from care_planner.climate.simulated import simulated_issue, up_to
from care_planner.outlook.replay.counts import Counts, count
from care_planner.outlook.replay.season import LivedNight, Replayed, now_and_then, season_nights
from care_planner.outlook.watch.nights import NightWatch

RULES = rulebook(pack_text(FLOWERING))


def rough_record():
    """The smooth years with weather in them: a walk of 3 degC that keeps two thirds from day to day."""
    smooth = smooth_record()
    rng = np.random.default_rng(7)
    walk = np.zeros(len(smooth.tmin_c))
    for place in range(1, len(walk)):
        walk[place] = 0.66 * walk[place - 1] + 0.75 * rng.standard_normal()
    rough = 3.0 * walk
    parts = {name: getattr(smooth, name) + rough for name in ("tmin_c", "tmax_c", "tmean_c")}
    return replace(smooth, **parts)


RECORD = rough_record()


def replayed(setting="middle", record=RECORD, seed=1, **tree):
    trees = collection({"taxon": "flowering-tree", **tree})
    return Replayed(trees, (), record, RULES, setting, seed)


def nights_of(of, season):
    return season_nights(of, season, now_and_then(of, 91))


@pytest.mark.parametrize(("setting", "least", "most"), [("cautious", 0.95, 3.0), ("middle", 0.85, 1.5)])
def test_the_alarms_of_a_season_meet_the_setting(setting, least, most):
    found = count(nights_of(replayed(setting), 2008))
    assert found.hurt > 25
    assert found.share_called >= least
    assert found.false_per_true <= most


def test_no_day_sees_the_record_after_it():
    """Another truth from a day on changes nothing that was called before it, the forecasts of it apart."""
    split = day("2008-03-10")
    cut = split - RECORD.first_day
    other = RECORD.tmin_c.copy()
    other[cut + 11 :] -= 30.0
    changed = replace(RECORD, tmin_c=other)
    both = [
        [n.called for n in takewhile(lambda n: n.evening < split, nights_of(replayed(record=record), 2008))]
        for record in (RECORD, changed)
    ]
    assert both[0] == both[1]
    assert up_to(RECORD, split).end_day == split


def test_the_same_draw_gives_the_same_forecast_and_another_another():
    today = day("2008-03-10")
    one, again, other = (simulated_issue(RECORD, today, seed) for seed in (1, 1, 2))
    assert one == again and one != other
    assert [row.lead for row in one] == list(range(11))


def test_the_error_of_simulated_forecasts_is_the_published_one():
    errors = {1: [], 7: []}
    for today in range(RECORD.first_day, RECORD.first_day + 2000):
        for row in simulated_issue(RECORD, today, 3):
            if row.lead in errors:
                errors[row.lead].append(row.tmin_c - RECORD.tmin_c[row.day - RECORD.first_day])
    assert np.std(errors[1]) == pytest.approx(1.4, rel=0.05)
    assert np.std(errors[7]) == pytest.approx(3.1, rel=0.05)


def test_counts_by_hand():
    def night(at, state=None, hurt=(), close=5.0, first=0):
        watch = NightWatch("frost", at, state, 0.5) if state else None
        return LivedNight(at, watch, first or at, hurt, close)

    nights = [
        night(1, "firm", ("a",), -1.0, first=1),
        night(2, "firm", ("a", "b"), -3.0, first=1),
        night(3, None, ("a",), -0.1),
        night(4, "firm", (), 1.0),
        night(5, "withdrawn", (), 4.0),
        night(6, "blind", (), 4.0),
        night(7),
    ]
    found = count(nights)
    assert found == Counts(
        7, 3, 2, 2, 1, 1, (3,), ((6, (1 + 2 / 6) / 2), (12, (1 + 2 / 12) / 2), (24, (1 + 2 / 24) / 2))
    )
    assert found.share_called == pytest.approx(2 / 3)
    assert found.false_per_true == 1.0
