"""What the fit sums is what the planner sums: each form, as a moment of a pack, falls on the same days."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from fitted import DATA, records

from care_planner.climate.record import daily_record
from care_planner.collection.site import Bench
from care_planner.learning.fitting.need_forms import Gathering, NeedForm
from care_planner.learning.fitting.pack_text import moment_of
from care_planner.learning.fitting.records import COLUMNS, Seasons, first_ordinal, lay
from care_planner.learning.fitting.search import errors_of
from care_planner.learning.fitting.spec import Season
from care_planner.learning.past import PastWeather, Track
from care_planner.rulebook.moment import Moment
from care_planner.stages.moments import evaluate
from care_planner.stages.reach import Floats

assert DATA.is_dir()
SPRING = [
    NeedForm("forcing", "02-01", midpoint_c=14.0, slope_per_c=0.2),
    NeedForm("forcing", "12-15", midpoint_c=10.0, slope_per_c=0.3),
    NeedForm("forcing-with-chill", "01-15", None, 16.0, 0.2, "10-01", 3.0, 1200.0, 1.5),
    NeedForm("chill-then-forcing", "12-15", None, 14.0, 0.2, "10-01", 7.0, 900.0),
    NeedForm("chill-then-forcing", "01-15", None, 14.0, 0.2, "10-01", 7.0, 2500.0),
    NeedForm("forcing", "03-05", midpoint_c=14.0, slope_per_c=0.2),
]
AUTUMN = [NeedForm("cold", "09-01", base_c=28.0), NeedForm("cold", "08-15", hours=12.6, base_c=24.0)]


class Seen:
    """A view of one season's weather, for a moment that asks nothing of a tree."""

    def __init__(self, past: PastWeather, year: int) -> None:
        self.frame, self.home, self.curve = past.frame(year, 1), past.on(Track("open")), None

    def weather(self, step: int) -> object:
        return self.home


def planned(name: str, form: NeedForm, needed: float, season: Season, seasons: Seasons) -> Floats:
    """The days the planner finds, as columns of the seasons."""
    moment = read_moment(form, needed, season)
    kept = records(name)
    found = []
    for station, year in zip(seasons.stations, seasons.years, strict=True):
        weather = kept.weather[station]
        days = np.arange(weather.first_day, weather.first_day + len(weather.tmin_c))
        # Months that the file does not hold, so that chill never reached is "never", not "unknown".
        months = np.array([date.fromordinal(int(day)).month for day in days])
        summer = np.isnan(weather.tmin_c) & np.isin(months, (7, 8, 9) if season == "spring" else range(1, 8))
        low, high = (np.where(summer, 25.0 + days % 3, t) for t in (weather.tmin_c, weather.tmax_c))
        record = daily_record(days, {"tmin_c": low, "tmax_c": high}, station)
        past = PastWeather(record, 36.5, {"open": Bench()}, record.end_day)
        day = float(evaluate(moment, 0, Seen(past, int(year)), np.ones(1))[0])  # type: ignore[arg-type]
        found.append(day - first_ordinal(season, int(year)))
    return np.array(found)


def read_moment(form: NeedForm, needed: float, season: Season) -> Moment:
    return Moment.model_validate(moment_of(form, needed, season))


def some(name: str, season: Season, event: str) -> Seasons:
    """A few seasons of every station, all at the planner's latitude."""
    kept = records(name)
    at = replace(kept, latitudes=dict.fromkeys(kept.weather, 36.5))
    seasons = lay(at, season, [event])
    keep = (seasons.years % 6 == 0) & ~np.isnan(seasons.days[event])
    return seasons.rows(np.asarray(keep))


@pytest.mark.parametrize("form", SPRING + AUTUMN, ids=lambda f: f"{f.family}-{f.warm_from}-{f.hours}")
def test_a_form_falls_on_the_planners_days(form: NeedForm) -> None:
    name, season, event = (
        ("japanese_maple", "autumn", "colour_start")
        if form.family == "cold"
        else ("wisteria", "spring", "first_flower")
    )
    seasons = some(name, season, event)  # type: ignore[arg-type]
    first = 153 if season == "autumn" else 92  # 1 August, 1 October: the files begin there
    gained, start = Gathering(seasons, first, min(COLUMNS, 300 if season == "autumn" else 360)).gained(form)
    needed = int(np.median(gained[:, 60])) + 0.5 if season == "autumn" else 9.0
    errors, rows = errors_of(gained, start, seasons.days[event], needed)
    mine = errors + seasons.days[event][rows]
    expected = planned(name, form, needed, season, seasons)  # type: ignore[arg-type]
    assert len(mine) > 5 and np.isfinite(expected).all()
    if form.hours is None:
        assert np.array_equal(mine, expected)
    else:  # a leap year's days are as long as those a day later in a common one
        assert np.abs(mine - expected).max() <= 1 and np.mean(mine == expected) > 0.7


def test_hours_may_be_skipped_in_a_search_at_no_more_than_a_day() -> None:
    seasons = some("wisteria", "spring", "first_flower")
    days = seasons.days["first_flower"]
    fine, coarse = (
        errors_of(*Gathering(seasons, 92, 360, hours).gained(SPRING[2]), days, 9.0)[0] for hours in (1, 2)
    )
    assert np.abs(fine - coarse).max() <= 1
