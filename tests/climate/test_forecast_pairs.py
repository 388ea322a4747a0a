"""The benchmark of frost chances on a made file of the form it is given: a law that is right scores best."""

import csv
import importlib.util
import sys
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

_PATH = Path(__file__).parents[1] / "benchmarks" / "forecast_pairs.py"
_SPEC = importlib.util.spec_from_file_location("forecast_pairs", _PATH)
assert _SPEC is not None and _SPEC.loader is not None
pairs_of = importlib.util.module_from_spec(_SPEC)
sys.modules[_SPEC.name] = pairs_of
_SPEC.loader.exec_module(pairs_of)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Four winters at nearly 0 degC; the forecast is 8.9 degC too cold, with an error of 2 degC."""
    rng = np.random.default_rng(3)
    path = tmp_path_factory.mktemp("pairs") / "temp.csv"
    with path.open("w", encoding="utf-8", newline="") as text:
        rows = csv.writer(text)
        rows.writerow(["date", "temp", "tempfc.1", "tempfc.2"])
        for winter in range(2006, 2010):
            for n in range(90):
                came = 3.0 * rng.standard_normal() + 1.0
                forecast = came - 8.9 + 2.0 * rng.standard_normal()
                day = date(winter, 1, 1) + timedelta(n)
                rows.writerow([day, f"{came:.2f}", f"{forecast - 1:.2f}", f"{forecast + 1:.2f}"])
        rows.writerow([date(2010, 1, 1), "", "1.0", "1.0"])
    return path


def test_a_file_of_the_published_form_is_read():
    """Saved by R itself in the form of the published set: dates as row names, `temp`, eleven `tempfc`, xz."""
    pairs = pairs_of.read_pairs(Path(__file__).parents[1] / "data" / "forecast_pairs_made.rda")
    assert len(pairs) == 239  # of 240 nights; the seventh has no value
    assert pairs[0].day == date(2006, 1, 1).toordinal() and pairs[0].came_c == -1.9
    members = (-11.39, -11.62, -10.30, -11.95, -11.31, -12.25, -12.01, -10.99, -9.67, -12.13, -10.68)
    assert pairs[0].forecast_c == pytest.approx(np.mean(members))
    assert date(2006, 1, 7).toordinal() not in {pair.day for pair in pairs}


def test_brier_by_hand():
    assert pairs_of.brier([1.0, 0.5, 0.0], [True, True, True]) == pytest.approx((0 + 0.25 + 1) / 3)


def test_the_law_beats_yes_or_no_and_the_climate(made):
    pairs = pairs_of.read_pairs(made)
    assert len(pairs) == 360  # the night without a value is left out
    judged = pairs_of.judge(pairs, date(2009, 1, 1).toordinal(), 0.0)
    found = pairs_of.scores(judged)
    assert found["law"] < min(found["yes_no"], found["climate"])
    for said, came, nights in pairs_of.came_true(judged):
        assert nights < 15 or abs(said - came) < 0.2


def test_no_night_sees_what_came_after_it(made):
    pairs = pairs_of.read_pairs(made)
    start = date(2009, 3, 1).toordinal()
    other = [
        p if p.day < start + 5 else pairs_of.Pair(p.day, p.forecast_c + 50, p.came_c - 50) for p in pairs
    ]
    first, again = (pairs_of.judge(held, start, 0.0)[:5] for held in (pairs, other))
    assert first == again
