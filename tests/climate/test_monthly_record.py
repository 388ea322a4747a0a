"""Days generated from twelve monthly means."""

import hashlib
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from care_planner.climate.frost import night_seasons, percentile_day
from care_planner.climate.monthly import monthly_record
from care_planner.climate.read_weather import read_weather_file
from care_planner.climate.record import WeatherRecord

ROOT = Path(__file__).parents[2]
RECORDS = {
    "brussels": ROOT / "tests/data/brussels_1976_2005.csv.gz",
    "gangneung": ROOT / "examples/gangneung/weather.csv.gz",
    "utsunomiya": ROOT / "tests/data/utsunomiya_1976_2025.csv.gz",
}


def monthly_means(record: WeatherRecord, values: np.ndarray) -> list[float]:
    days = range(record.first_day, record.end_day)
    months = np.array([date.fromordinal(day).month for day in days])
    return [float(np.nanmean(values[months == month])) for month in range(1, 13)]


@pytest.fixture(scope="module", params=RECORDS)
def real_and_generated(request):
    real, _ = read_weather_file(RECORDS[request.param], request.param)
    assert real is not None
    means = [monthly_means(real, values) for values in (real.tmin_c, real.tmax_c)]
    return real, monthly_record(*means), means


def test_the_monthly_means_are_kept(real_and_generated):
    _, generated, (tmin_means, tmax_means) = real_and_generated
    np.testing.assert_allclose(monthly_means(generated, generated.tmin_c), tmin_means, atol=0.15)
    np.testing.assert_allclose(monthly_means(generated, generated.tmax_c), tmax_means, atol=0.15)
    assert (generated.tmin_c <= generated.tmax_c).all()


@pytest.mark.parametrize(
    ("which", "at_most_c"), [("first", 0.0), ("last", 0.0), ("first", 3.0), ("last", 3.0)]
)
def test_frost_nights_come_near_those_of_the_real_record(real_and_generated, which, at_most_c):
    # The outside value is the record itself, of which only twelve pairs of means were used.
    medians = [
        percentile_day(
            night_seasons(record.first_day, record.tmin_c, False, at_most_c, which).day_offsets,
            0.5,
            which=which,
        )
        for record in real_and_generated[:2]
    ]
    assert abs(medians[0] - medians[1]) <= 7


def test_years_differ_about_as_much_as_real_ones(real_and_generated):
    springs = []
    for record in real_and_generated[:2]:
        days = [date.fromordinal(day) for day in range(record.first_day, record.end_day)]
        years = sorted({day.year for day in days})
        mean = (record.tmin_c + record.tmax_c) / 2
        spring = np.array([day.year if 3 <= day.month <= 5 else 0 for day in days])
        springs.append(np.std([np.nanmean(mean[spring == year]) for year in years]))
    assert 0.5 < springs[1] / springs[0] < 1.6


def test_the_record_says_what_it_is():
    record = monthly_record([-5.0] * 12, [3.0] * 12, first_year=2003, years=12)
    assert record.kind == "monthly"
    assert record.notes == ("from monthly means only: 12 years of days were generated around them",)
    assert record.first_day == date(2003, 1, 1).toordinal()
    assert record.end_day == date(2015, 1, 1).toordinal()


def test_regression_the_same_means_give_the_same_days_to_the_last_bit():
    record = monthly_record(range(-3, 9), range(4, 16))
    digest = hashlib.sha256(np.round(record.tmin_c * 10).astype("<i8").tobytes()).hexdigest()
    assert digest[:16] == "5edd89511b7b220f"


@pytest.mark.parametrize(
    ("tmin", "tmax"),
    [([0.0] * 11, [5.0] * 12), ([6.0] * 12, [5.0] * 12), ([float("nan")] * 12, [5.0] * 12)],
)
def test_anything_but_twelve_pairs_is_refused(tmin, tmax):
    with pytest.raises(ValueError, match="twelve Tmin and twelve Tmax"):
        monthly_record(tmin, tmax)
