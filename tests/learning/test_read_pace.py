"""Which pace a noted day speaks of: by hand on even weather, and back again on smooth weather."""

import numpy as np
import pytest
from even_weather import DAILY, EVEN, NEED, SEASON, SINCE, even_past, flower, read
from noted_seasons import FIRST, KOREAN, OPEN, SATSUKI, day_at, past

from care_planner.learning import past as reading
from care_planner.learning.notes import TreeNotes, notes_of
from care_planner.learning.past import GRID, LAG_DAYS, days_by_pace, read_pace
from care_planner.rulebook.pack import TaxonRules
from care_planner.stages.history import History

# By hand.


@pytest.mark.parametrize("days", [20, 32, 40, 50, 64])
def test_the_pace_is_the_warmth_that_had_come_over_the_taxons_need(days: int) -> None:
    (note,) = read(flower(days))
    # Any need between the evening before and this evening gives this day; the middle of these.
    low, high = np.log((days - 1) * DAILY / NEED), np.log(days * DAILY / NEED)
    assert note.log_pace == pytest.approx((low + high) / 2, abs=0.011)
    # The rate at the day itself is behind the error, that at the taxon's day behind days early or late.
    # A slope over few steps of the grid is rough.
    assert note.variance**0.5 == pytest.approx(1 / days, rel=0.35)
    assert note.per_day == pytest.approx(1 / 40, rel=0.1)
    assert note.late_days == pytest.approx(days - 40, abs=0.6)


def test_a_variety_is_no_pace() -> None:
    """A late variety that needs a tenth more and takes a tenth longer is as fast as its kind."""
    (note,) = read(flower(44), variety=1.1)
    assert note.log_pace == pytest.approx(0.0, abs=0.03)


def test_a_stage_that_waits_for_no_warmth_teaches_nothing() -> None:
    seen = {("end-of-growth", SEASON): SINCE + 250, ("rest", SEASON): SINCE + 280}
    assert notes_of(TreeNotes("a", History(stages=seen), OPEN), EVEN, even_past()) == []


# Back again.


@pytest.mark.parametrize("rules", [SATSUKI, KOREAN], ids=["satsuki", "korean"])
@pytest.mark.parametrize("pace", [-0.3, -0.1, 0.0, 0.08, 0.25])
def test_the_pace_read_from_a_day_brings_the_stage_back_on_that_day(rules: TaxonRules, pace: float) -> None:
    for stage in ("bud-swell", FIRST, "full-bloom", "end-of-bloom"):
        came = day_at(pace, stage, SEASON, rules)
        found = read_pace(came, days_by_pace(stage, SEASON, past(), OPEN, rules, History(), 1.0))
        assert found is not None
        # The grid is coarser than a day late in spring, so what is read may be half a step beside the day.
        assert abs(day_at(found.log_pace, stage, SEASON, rules) - came) <= 1
        assert found.log_pace == pytest.approx(pace, abs=0.03)


def test_days_by_pace_is_that_round_trip_for_every_pace_of_the_grid() -> None:
    days = days_by_pace(FIRST, SEASON, past(), OPEN, SATSUKI, History(), 1.0)
    assert days.tolist() == [day_at(float(pace), FIRST, SEASON) for pace in GRID]
    assert days.tolist() == sorted(days)


# What teaches nothing.


@pytest.mark.parametrize("season", [1990, 2000, 2030])
def test_a_season_outside_the_record_teaches_nothing(season: int) -> None:
    """Of 2000 the record has the year's second half only: not the spring."""
    assert read(flower(40, season)) == []


@pytest.mark.parametrize(("until", "count"), [(-20, 0), (-LAG_DAYS, 0), (1 - LAG_DAYS, 1), (0, 1), (20, 1)])
def test_weather_after_the_last_known_day_is_not_looked_at(until: int, count: int) -> None:
    """A day or some days without weather before the note: the last days' rate goes on."""
    told = flower(40)
    (seen,) = told["stages"].values()
    last = np.datetime64("0001-01-01") + (seen + until - 1)
    found = read(told, even_past(str(last)))
    assert len(found) == count
    for note in found:
        assert note.log_pace == pytest.approx(0.0, abs=0.04)


# The checks are seen to fail.


def test_planted_faults_are_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every tree tried needs a tenth more than the pace it stands for."""
    with monkeypatch.context() as planted:
        planted.setattr(reading.PastSeason, "pace_of", lambda self, stage, step: self._pace * 1.1)
        with pytest.raises(AssertionError):
            test_the_pace_is_the_warmth_that_had_come_over_the_taxons_need(40)
    monkeypatch.setattr(reading, "LAG_DAYS", 400)
    with pytest.raises(AssertionError):
        test_weather_after_the_last_known_day_is_not_looked_at(-20, 0)
