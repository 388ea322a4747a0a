"""Stages of different parts of the year say nothing of each other; those of one part do."""

import pytest
from noted_seasons import note

from care_planner.learning.covariance import alone, covariance, points
from care_planner.learning.learn import learn
from care_planner.learning.pace_belief import PaceBelief
from care_planner.rulebook.taxon import Pace

PARTS = {
    "autumn": {
        "stages": ["colour", "fall"],
        "keeps": "0.7",
        "fades": "0.1",
        "fades_years": "3",
        "alone": "0.1",
    }
}
PACE = {"spread": "0.1", "source": "made up"}
APART = Pace.model_validate(PACE | {"parts": PARTS})
ONE = Pace.model_validate(PACE)


def told(pace: Pace, season: int) -> PaceBelief:
    """What a late spring of 2010 says of a season."""
    return learn([note("leaf", 2010, 0.2)], pace, ("leaf", "colour"), [season]).belief("a")


@pytest.mark.parametrize("season", [2010, 2011])
def test_a_late_spring_moves_no_autumn(season: int) -> None:
    assert told(APART, season).of("colour", season, APART) == (0.0, 0.1)
    assert told(APART, season).of("leaf", season, APART)[0] > 0.05
    assert told(ONE, season).of("colour", season, ONE)[0] > 0.05


def test_stages_of_one_part_move_each_other() -> None:
    found = learn([note("colour", 2010, 0.2)], APART, ("fall", "leaf"), [2010]).belief("a")
    assert found.of("fall", 2010, APART)[0] > 0.1
    assert found.of("leaf", 2010, APART) == (0.0, 0.1)


def test_each_part_keeps_and_forgets_in_its_own_way() -> None:
    """Twenty years on nothing of what fades is left: spring keeps a tenth, this autumn seven."""
    old, new = (
        points([("colour", 1990, 0.0), ("leaf", 1990, 0.0)]),
        points([("colour", 2010, 0.0), ("leaf", 2010, 0.0)]),
    )
    found = covariance(APART, old, new) / 0.1**2
    assert found[0, 0] == pytest.approx(0.7 + 0.1 * 0.00127, abs=1e-4)
    assert found[1, 1] == pytest.approx(0.1, abs=1e-3)
    assert found[0, 1] == found[1, 0] == 0.0
    assert alone(APART, old) == pytest.approx([0.1 * 0.01, 0.05 * 0.01])


def test_a_stage_is_of_one_part() -> None:
    twice = {"parts": PARTS | {"winter": PARTS["autumn"]}}
    with pytest.raises(ValueError, match="a stage is of one part, not of two: colour, fall"):
        Pace.model_validate(PACE | twice)
