"""A short run of what `tests/benchmarks/hostile_inputs.py` does at length."""

import random
from pathlib import Path

from extremes import Drawn, extremes
from mutants import mutated_inputs

from care_planner.rulebook.moment import KINDS


def test_broken_files_of_every_kind(tmp_path: Path) -> None:
    found = mutated_inputs(tmp_path, 40, seed=20270301)
    assert found.faults == []
    assert found.planned > 5 and found.refused > 5, found.row()


def test_moments_of_every_kind_at_extreme_places(tmp_path: Path) -> None:
    found = extremes(tmp_path, 6, seed=20270301)
    assert found.faults == []
    assert found.planned > 2, found.row()


def test_every_kind_of_moment_is_drawn() -> None:
    drawn = Drawn(random.Random(1))
    for _ in range(200):
        drawn.moment()
    assert drawn.kinds == set(KINDS)
