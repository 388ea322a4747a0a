"""How sure a forecast is, what it learns from what came, and how it moves the weather years."""

import math
from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from care_planner.climate.forecast_blend import with_outlook
from care_planner.climate.forecast_error import (
    DAYS_AHEAD,
    PUBLISHED_SD_C,
    chance_under,
    error_law,
    leaning,
    narrowed,
)
from care_planner.climate.outlook import KeptDay, Outlook, OutlookDay, make_outlook
from care_planner.climate.record import WeatherRecord
from care_planner.climate.weather_years import WeatherYears

TODAY = date(2027, 3, 28).toordinal()


@pytest.mark.parametrize(("limit_f", "printed"), [(29.8, 0.01), (35.2, 0.20), (40.0, 0.679)])
def test_reference_normal_law(limit_f, printed):
    """Peroutka, NWS MDL slides 2007 (72 h, Baltimore): median 38.3 degF, standard deviation 3.65 degF."""
    in_c = [(value - 32) / 1.8 for value in (limit_f, 38.3)]
    assert chance_under(in_c[0], in_c[1], 3.65 / 1.8) == pytest.approx(printed, abs=0.003)


@pytest.mark.parametrize(
    ("day", "chances"),
    [
        (1, [0.92, 0.76, 0.50, 0.24, 0.08, 0.02, 0.00]),
        (3, [0.85, 0.70, 0.50, 0.30, 0.15, 0.06, 0.02]),
        (7, [0.74, 0.63, 0.50, 0.37, 0.26, 0.17, 0.10]),
    ],
)
def test_chance_of_frost_by_day(day, chances):
    """Phi((limit - m) / s) for lows of -2 to 4 degC, worked out by hand to two decimals."""
    found = [chance_under(0.0, low, PUBLISHED_SD_C[day - 1]) for low in range(-2, 5)]
    np.testing.assert_allclose(found, chances, atol=0.006)


@given(st.floats(-20, 20), st.floats(-20, 20), st.floats(0.5, 6))
def test_a_colder_forecast_is_never_a_smaller_chance(low, other, sd):
    colder, warmer = sorted((low, other))
    assert chance_under(0.0, colder, sd) >= chance_under(0.0, warmer, sd)


def test_the_sites_own_bias_from_30_pairs_and_its_spread_from_100():
    errors = np.random.default_rng(1).normal(2.0, 3.0, 120)
    pairs = [(1, 5.0 + float(error), 5.0) for error in errors]
    few, some, many = (error_law(pairs[:n]) for n in (29, 99, 120))
    assert (few.bias_c[0], few.sd_c[0]) == (0.0, PUBLISHED_SD_C[0])
    assert (some.bias_c[0], some.sd_c[0]) == (pytest.approx(errors[:99].mean()), PUBLISHED_SD_C[0])
    assert many.bias_c[0] == pytest.approx(errors.mean())
    assert many.sd_c[0] == pytest.approx(errors.std(ddof=1))
    assert (many.bias_c[1], many.sd_c[1], many.pairs[:2]) == (0.0, PUBLISHED_SD_C[1], (120, 0))
    assert error_law(pairs[::-1]) == many


def test_nothing_is_wider_than_the_climate():
    assert narrowed(3.8, 2.5) == 2.5
    assert narrowed(1.4, 2.5) == 1.4
    assert narrowed(1.4, math.nan) == 1.4


def test_the_weight_of_the_forecast_falls_towards_the_tenth_day():
    weights = [leaning(lead, sd, 3.5) for lead, sd in enumerate(PUBLISHED_SD_C, start=1)]
    assert weights[0] == 1.0
    assert weights == sorted(weights, reverse=True)
    assert weights[-1] == pytest.approx(3.5**2 / (3.5**2 + 3.8**2))


def record_until(end: int, low: float = 4.0) -> WeatherRecord:
    lows = np.full(400, low)
    return WeatherRecord(end - 400, lows, lows + 8, lows + 4, source="record")


def test_pairs_are_made_of_what_the_record_holds_and_never_of_tomorrow():
    record = record_until(TODAY)
    kept = [KeptDay(day - 1, day, 6.0, 14.0) for day in range(TODAY - 40, TODAY + 1)]
    found = make_outlook(kept, record, TODAY, "file", None)
    assert found.low_law.pairs[0] == 40
    assert found.low_law.bias_c[0] == 2.0
    # What was learnt is taken off.
    assert found.of(TODAY).tmin_c == 4.0
    later = make_outlook(kept, record_until(TODAY + 5), TODAY, "file", None)
    assert later.low_law == found.low_law


def test_the_newest_forecast_of_each_day_stands_and_none_made_later():
    kept = [KeptDay(TODAY - 2, TODAY + 1, 3.0, 9.0), KeptDay(TODAY, TODAY + 1, 1.0, 8.0)]
    kept.append(KeptDay(TODAY + 1, TODAY + 1, -5.0, 8.0))
    found = make_outlook(kept[::-1], record_until(TODAY), TODAY, "file", None)
    assert (found.of(TODAY + 1).tmin_c, found.of(TODAY + 1).lead) == (1.0, 1)
    assert found.of(TODAY + 2) is None
    # Nine days old and still all there is of a day: it counts with the spread of nine days.
    old = make_outlook([KeptDay(TODAY - 7, TODAY + 2, 1.0, 8.0)], record_until(TODAY), TODAY, "file", None)
    assert old.of(TODAY + 2).tmin_sd_c == PUBLISHED_SD_C[8]


def test_days_after_the_record_are_by_their_last_forecast():
    kept = [KeptDay(TODAY - 3, TODAY - 2, 1.0, 8.0), KeptDay(TODAY - 30, TODAY - 29, 1.0, 8.0)]
    found = make_outlook(kept, record_until(TODAY - 4), TODAY, "file", None)
    assert [day.day for day in found.days] == [TODAY - 2]


def weather_years(rows: int = 21, days: int = 30) -> WeatherYears:
    rng = np.random.default_rng(3)
    tmin = rng.normal(4.0, 3.0, (rows, days))
    observed = np.arange(days) < 5
    tmin[:, observed] = 4.0
    labels = tuple(range(rows))
    return WeatherYears(TODAY - 5, tmin, tmin + 8, tmin + 4, labels, (), TODAY, observed)


def outlook(low: float = -1.0, sds: tuple[float, ...] = PUBLISHED_SD_C) -> Outlook:
    days = [
        OutlookDay(TODAY + lead, lead, low, sds[max(lead, 1) - 1], low + 8, sds[max(lead, 1) - 1])
        for lead in range(0, DAYS_AHEAD + 1)
    ]
    return Outlook("file", TODAY, datetime(2027, 3, 28, tzinfo=UTC), tuple(days))


def test_the_next_ten_days_are_drawn_around_the_forecast_and_the_rest_stays():
    years = weather_years()
    found = with_outlook(years, outlook())
    np.testing.assert_array_equal(found.tmin_c[:, :5], years.tmin_c[:, :5])
    np.testing.assert_array_equal(found.tmin_c[:, 16:], years.tmin_c[:, 16:])
    np.testing.assert_allclose(found.tmin_c[:, 6].mean(), -1.0, atol=1e-9)
    np.testing.assert_allclose(found.tmin_c[:, 6].std(), 1.4, atol=1e-9)
    # Towards the tenth day it leans to the climate's four degrees.
    assert -1.0 < found.tmin_c[:, 15].mean() < 4.0
    assert (found.tmin_c[:, 15].std() <= years.tmin_c[:, 15].std(ddof=1) + 1e-9).all()
    assert (found.tmin_c <= found.tmax_c).all()


def test_a_warm_row_stays_the_warm_row():
    years = weather_years()
    found = with_outlook(years, outlook())
    for place in range(5, 16):
        assert (np.argsort(found.tmin_c[:, place]) == np.argsort(years.tmin_c[:, place])).all()


def test_the_order_of_the_rows_does_not_matter():
    years = weather_years()
    turned = replace(years, tmin_c=years.tmin_c[::-1], tmax_c=years.tmax_c[::-1], tmean_c=years.tmean_c[::-1])
    one, other = with_outlook(years, outlook()), with_outlook(turned, outlook())
    np.testing.assert_allclose(other.tmin_c[::-1], one.tmin_c, atol=1e-12)


def test_without_a_forecast_nothing_moves():
    years = weather_years()
    assert with_outlook(years, None) is years
    assert with_outlook(years, Outlook("file", TODAY, None)) is years
