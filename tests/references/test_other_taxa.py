"""Wisteria's first flower and the maple's colour against open records, by the functions that a plan uses.

Source: Japan Meteorological Agency and Korea Meteorological Administration, four and three stations
(tests/data/SOURCES.md). The packs were fitted on these among others, so this holds code and numbers in
place; scores on stations not seen stand in rules/SCORES.md.
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
PACKS = {"wisteria": "wisteria", "japanese-maple": "japanese_maple"}


def run(*asked: str) -> "subprocess.CompletedProcess[str]":
    command = [sys.executable, "tests/benchmarks/forecast_skill.py", *asked]
    return subprocess.run(command, cwd=PROJECT, capture_output=True, text=True)


def files(taxon: str) -> list[str]:
    parts = ("observations", "temperature")
    return [word for p in parts for word in (f"--{p}", str(DATA / f"{PACKS[taxon]}_{p}.csv.gz"))]


@cache
def scores(taxon: str) -> dict[str, dict[str, dict[str, float]]]:
    """What the benchmark prints last."""
    done = run("--taxon", taxon, *files(taxon))
    assert done.returncode == 0, done.stdout + done.stderr
    found: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return found["lines"]


def test_wisteria_at_a_new_site_beats_ten_years_of_looking() -> None:
    row = scores("wisteria")["new_site"]["first_flower"]
    assert row["n"] == 72
    assert row["rmse_where_3"] < row["own_mean_3"] and row["rmse"] < row["fixed_mean_day"] / 2
    assert 0.7 < row["inside_80"] < 0.9


def test_autumn_is_forecast_on_1_september_and_flowers_in_winter_and_spring() -> None:
    assert "made_1_september" in scores("japanese-maple") and "made_1_march" not in scores("japanese-maple")
    assert set(scores("japanese-maple")["made_1_september"]) == {"colour_start", "colour_peak"}
    assert "made_1_september" not in scores("wisteria")


def test_the_maples_height_of_colour_is_told_by_its_start() -> None:
    lines = scores("japanese-maple")
    assert lines["earlier_stage"]["colour_peak"]["rmse"] < lines["new_site"]["colour_peak"]["rmse"] - 1


@pytest.mark.parametrize("line", ["new_site", "made_1_september"])
def test_a_pack_is_scored_as_it_is_by_its_stages_and_paces_alone(line: str) -> None:
    done = run("--pack", str(PROJECT / "rules" / "japanese-maple.yaml"), *files("japanese-maple"))
    assert done.returncode == 0, done.stdout
    assert json.loads(done.stdout.splitlines()[-1])["lines"][line] == scores("japanese-maple")[line]


def test_a_taxon_that_is_not_there_is_told_without_a_traceback() -> None:
    done = run("--taxon", "wistaria", *files("wisteria"))
    assert done.returncode == 2
    assert "wistaria: no such taxon; did you mean wisteria?" in done.stdout
