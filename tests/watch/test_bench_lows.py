"""Ten lows read at a bench take the place of what is usual for where it stands."""

import numpy as np
import pytest
from small_world import collection, day, notes, smooth_record

from care_planner.climate.outlook import NightSky, OutlookDay
from care_planner.journal.words import Heard, Known, parse_what
from care_planner.outlook.watch import bench_lows
from care_planner.outlook.watch.bench_lows import READINGS_NEEDED, OddLow
from care_planner.outlook.watch.bench_sky import CLEAR_NIGHT, bench_night
from care_planner.typed_yaml.models import Mistake

RECORD = smooth_record()
FIRST = day("2012-03-01")
BENCHES = {"open": {"stands": "ground"}, "pocket": {"offset_c": -2}, "shed": {"floor_c": 2}}
TREES = collection({"taxon": "flowering-tree"}, benches=BENCHES)


def lows(count, apart=-4.0, tree="tree-1", rough=0.0, first=FIRST):
    """So many mornings, each so much colder than the record."""
    return [
        entry
        for n in range(count)
        for entry in notes(
            {
                "date": np.datetime64(first + n - 719163, "D").astype(str),
                "low_c": round(
                    float(RECORD.tmin_c[first + n - RECORD.first_day]) + apart + rough * (-1) ** n, 2
                ),
            },
            tree=tree,
        )
    ]


def learned_skies(*of):
    """What is learned alone."""
    return bench_lows.learned_skies(*of)[0]


def test_nine_teach_nothing_and_ten_do():
    assert learned_skies(TREES, lows(READINGS_NEEDED - 1), RECORD, ()) == {}
    ((bench, sky),) = learned_skies(TREES, lows(READINGS_NEEDED, rough=0.5), RECORD, ()).items()
    colder, spread = sky.clear
    assert (bench, colder) == ("open", pytest.approx(-4.0, abs=0.02))
    assert spread == pytest.approx(0.527, abs=0.02)


def test_they_stand_in_place_of_the_usual_on_a_clear_night_only():
    learned = learned_skies(TREES, lows(10), RECORD, ())
    clear = OutlookDay(FIRST, 1, 2.0, 1.4, 9.0, 1.4, cloud_pct=5, wind_m_s=0.5)
    cloudy = OutlookDay(FIRST, 1, 2.0, 1.4, 9.0, 1.4, cloud_pct=90, wind_m_s=0.5)
    bench = TREES.benches["open"]
    assert bench_night("open", bench, clear).expected_c == 2.0 + CLEAR_NIGHT["ground"][0]
    assert bench_night("open", bench, clear, learned).expected_c == pytest.approx(-2.0, abs=0.02)
    assert bench_night("open", bench, cloudy, learned).expected_c == 2.0


def test_cloudy_nights_do_not_count():
    skies = [NightSky(FIRST + n, 90.0, 1.0) for n in range(5)]
    assert learned_skies(TREES, lows(14), RECORD, skies) == {}
    assert set(learned_skies(TREES, lows(15), RECORD, skies)) == {"open"}


def test_nights_of_an_unknown_sky_hold_the_mixture_and_are_not_halved_again():
    untold = OutlookDay(FIRST, 1, 2.0, 1.4, 9.0, 1.4)
    bench = TREES.benches["open"]
    mixed = learned_skies(TREES, lows(10), RECORD, ())
    assert bench_night("open", bench, untold, mixed).expected_c == pytest.approx(-2.0, abs=0.02)
    clear = learned_skies(TREES, lows(10), RECORD, [NightSky(FIRST + n, 5.0, 0.5) for n in range(10)])
    assert bench_night("open", bench, untold, clear).expected_c == pytest.approx(0.0, abs=0.02)


def test_one_slip_among_the_readings_is_left_out_and_told():
    """-33 for -3: it alone would have made the spread 8 degC."""
    (slip,) = lows(1, apart=-34.0, first=FIRST + 12)
    found, odd = bench_lows.learned_skies(TREES, [*lows(12, rough=0.5), slip], RECORD, ())
    assert found["open"].clear == pytest.approx((-4.0, 0.52), abs=0.03)
    assert odd == (OddLow("open", FIRST + 12, slip.low_c),)
    assert bench_lows.learned_skies(TREES, lows(12, rough=2.0), RECORD, ())[1] == ()


def test_two_readings_of_a_morning_are_one_and_a_bench_with_a_floor_has_no_sky():
    twice = lows(9) + lows(9, apart=-2.0)
    assert learned_skies(TREES, twice, RECORD, ()) == {}
    moved = notes({"date": "2012-02-01", "moved_to": "shed"})
    assert learned_skies(TREES, [*moved, *lows(12)], RECORD, ()) == {}
    pocket = notes({"date": "2012-02-01", "moved_to": "pocket"})
    found = learned_skies(TREES, [*lows(12), *pocket], RECORD, ())
    assert found["pocket"].clear[0] == pytest.approx(-2.0, abs=0.02)  # its own offset apart


def test_a_low_is_noted_in_words_and_out_of_reach_is_refused():
    known = Known(frozenset(), frozenset(), frozenset(), frozenset())
    for text in ("low -2.5", "low -2.5 degC", "LOW -2.5 C"):
        assert parse_what(text, known) == Heard({"low_c": "-2.5"})
    assert isinstance(parse_what("low 3 apples", known), Mistake)
    assert parse_what("low branches", known) is not None
    assert notes({"date": "2012-03-01", "low_c": -2.5})[0].is_aside
