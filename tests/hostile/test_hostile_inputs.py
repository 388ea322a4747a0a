"""A short run of what `tests/benchmarks/hostile_inputs.py` does at length."""

import random
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from extremes import Drawn, extremes
from mutants import mutated_inputs

from care_planner.climate.gaps import Floats
from care_planner.rulebook.moment import KINDS
from care_planner.stages import moments


def test_broken_files_of_every_kind(tmp_path: Path) -> None:
    found = mutated_inputs(tmp_path, 20, seed=20270301)
    assert found.faults == []
    assert found.planned > 4 and found.refused > 4, found.row()


def test_moments_of_every_kind_at_extreme_places(tmp_path: Path) -> None:
    found = extremes(tmp_path, 4, seed=20270301)
    assert found.faults == []
    assert found.planned > 2, found.row()


def test_a_day_that_never_comes_taken_for_a_date_is_seen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Planted: whoever makes a date of NEVER (infinity) gets an OverflowError."""
    right = moments._kinds

    def planted(*given: Any) -> Floats:
        days = right(*given)
        [int(day) for day in days.flat if not np.isnan(day)]
        return days

    monkeypatch.setattr(moments, "_kinds", planted)
    found = extremes(tmp_path, 2, seed=20270301)
    assert found.tracebacks > 0 and "OverflowError" in found.faults[0]


def test_every_kind_of_moment_is_drawn() -> None:
    drawn = Drawn(random.Random(1))
    for _ in range(200):
        drawn.moment()
    assert drawn.kinds == set(KINDS)
