"""A record without one whole year: nothing has a day, and it is said."""

from dataclasses import replace

import pytest
from planning import SATSUKI, made_record, plan


@pytest.mark.parametrize("days", [0, 5, 200])
def test_without_a_weather_year_nothing_has_a_day(days: int) -> None:
    whole = made_record()
    cut = {name: getattr(whole, name)[:days] for name in ("tmin_c", "tmax_c", "tmean_c")}
    made = plan(SATSUKI, {**SATSUKI, "id": "new", "acquired": "2026-05-01"}, record=replace(whole, **cut))
    assert (made.weather_years, list(made.tasks)) == (0, [])
    assert {row.basis for row in made.stages} == {"unknown"}
    assert any("weather" in str(notice).lower() for notice in made.notices)
