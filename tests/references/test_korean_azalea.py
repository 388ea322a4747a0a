"""The korean-azalea pack and learning against open records, through the functions that a plan uses.

Source: Korea Meteorological Administration, seasonal observations and daily temperatures at four stations,
1973 to 2025 (tests/data/SOURCES.md). The pack was fitted on these among 53, so this holds the code and the
numbers in place; the score on stations not seen is that of tests/benchmarks/forecast_skill.py.
"""

import json
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

import pytest

PROJECT = Path(__file__).parents[2]
DATA = PROJECT / "tests" / "data"


@cache
def scores() -> dict[str, dict[str, dict[str, float]]]:
    """What the benchmark prints last."""
    files = {"observations": "observations", "temperature": "temperature"}
    asked = [
        part
        for name, file in files.items()
        for part in (f"--{name}", str(DATA / f"korean_azalea_{file}.csv.gz"))
    ]
    command = [sys.executable, "tests/benchmarks/forecast_skill.py", *asked]
    done = subprocess.run(command, cwd=PROJECT, capture_output=True, text=True, check=True)
    found: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return found["lines"]


def test_regression_every_line_beats_the_fixed_mean_day() -> None:
    for line, events in scores().items():
        row = events["first_flower"]
        assert row["rmse"] < row["fixed_mean_day"] - 1, line


@pytest.mark.parametrize("seasons", [1, 2, 3, 5, 10])
def test_regression_own_seasons_help_and_beat_the_mean_of_their_days(seasons: int) -> None:
    lines = scores()
    with_notes = lines[f"own_seasons.{seasons}"]["first_flower"]
    assert with_notes["rmse"] < lines["own_seasons.0"]["first_flower"]["rmse"]
    assert with_notes["rmse"] < with_notes["own_mean_day"]


@pytest.mark.parametrize("event", ["first_flower", "full_bloom"])
def test_regression_the_springs_earlier_stage_helps_more(event: str) -> None:
    lines = scores()
    assert lines["earlier_stage"][event]["rmse"] < lines["new_site"][event]["rmse"] - 0.3


def test_regression_later_forecasts_are_better() -> None:
    lines = scores()
    rmse = [lines[line]["first_flower"]["rmse"] for line in ("made_1_january", "made_1_march")]
    assert rmse[1] < rmse[0]


def test_regression_four_in_five_fall_inside_the_80_percent_span() -> None:
    """A spread twice as wide would hold 99 %."""
    for line, events in scores().items():
        row = events["first_flower"]
        error = 3 * (0.8 * 0.2 / row["n"]) ** 0.5
        # Rows of one site are alike, so the share varies more than that of independent ones.
        assert abs(row["inside_80"] - 0.8) < 2 * error, (line, row)
