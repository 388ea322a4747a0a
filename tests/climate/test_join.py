"""A record that another goes on with: compared where both are, joined without a step, and told."""

from dataclasses import replace
from datetime import date

import numpy as np

from care_planner.climate.join import join_records
from care_planner.climate.record import WeatherRecord
from care_planner.climate.record_age import ended_words

FIRST = date(2000, 1, 1).toordinal()


def year_round(days: int, first: int = FIRST, shift: float = 0.0) -> WeatherRecord:
    """A wave a year with day-to-day scatter that is the same for the same date; `shift` degC warmer."""
    at = np.arange(first, first + days)
    mean = 12 - 10 * np.cos(2 * np.pi * at / 365.2425) + 3 * np.sin(at * 1.7) + shift
    return WeatherRecord(first, mean - 4, mean + 4, mean, source="garden.csv")


def cut(record: WeatherRecord, start: int, end: int) -> WeatherRecord:
    part = slice(start - record.first_day, end - record.first_day)
    names = ("tmin_c", "tmax_c", "tmean_c")
    return replace(record, first_day=start, **{name: getattr(record, name)[part] for name in names})


def test_what_is_joined_continues_without_a_step():
    truth = year_round(4000)
    first = cut(truth, FIRST, FIRST + 2500)
    warm = replace(truth, tmin_c=truth.tmin_c + 1.5, tmax_c=truth.tmax_c - 0.4, source="station 1")
    joined = join_records(first, cut(warm, FIRST + 1000, FIRST + 4000))
    np.testing.assert_allclose(joined.tmin_c, truth.tmin_c, atol=1e-9)
    np.testing.assert_allclose(joined.tmax_c, truth.tmax_c, atol=1e-9)
    assert joined.source == "garden.csv, then station 1"
    assert joined.notes[0] == (
        "station 1 goes on where garden.csv ends (2006-11-04); on 1500 shared days its nights were "
        "1.5 degC warmer, its days 0.4 degC colder: that is taken off, by season"
    )


def test_a_difference_of_the_season_is_taken_off_by_season():
    truth = year_round(3000)
    days = np.arange(FIRST, FIRST + 3000)
    by_the_sea = 2 * np.cos(2 * np.pi * days / 365.2425)
    other = replace(truth, tmin_c=truth.tmin_c + by_the_sea, source="the pier")
    joined = join_records(cut(truth, FIRST, FIRST + 2000), other)
    assert np.abs(joined.tmin_c - truth.tmin_c).max() < 1e-6


def test_too_few_shared_days_are_said_and_nothing_is_taken_off():
    truth = year_round(1000)
    other = replace(cut(truth, FIRST + 480, FIRST + 1000), source="station 1")
    other = replace(other, tmin_c=other.tmin_c + 2)
    joined = join_records(cut(truth, FIRST, FIRST + 500), other)
    np.testing.assert_allclose(joined.tmin_c[500:], truth.tmin_c[500:] + 2)
    assert "they share 20 days, too few to compare" in joined.notes[0]
    assert "there may be a step" in joined.notes[0]


def test_a_source_that_holds_nothing_later_changes_nothing():
    truth = year_round(1000)
    joined = join_records(truth, replace(cut(truth, FIRST, FIRST + 900), source="station 1"))
    np.testing.assert_array_equal(joined.tmin_c, truth.tmin_c)
    assert joined.notes == ("station 1 holds no day after 2002-09-26, where garden.csv ends",)


def test_days_between_the_two_are_missing_and_counted():
    truth = year_round(1000)
    joined = join_records(cut(truth, FIRST, FIRST + 500), cut(truth, FIRST + 520, FIRST + 1000))
    assert np.isnan(joined.tmin_c[500:520]).all()
    assert np.isfinite(joined.tmin_c[520:]).all()
    assert any("20 days missing in 1 gap" in note for note in joined.notes)


def test_other_columns_of_either_are_kept():
    truth = year_round(100)
    rain = {"precip_mm": np.arange(60.0)}
    second = replace(cut(truth, FIRST + 60, FIRST + 100), others={"wind_m_s": np.full(40, 3.0)})
    joined = join_records(replace(cut(truth, FIRST, FIRST + 60), others=rain), second)
    np.testing.assert_array_equal(joined.others["precip_mm"][:60], np.arange(60.0))
    assert np.isnan(joined.others["precip_mm"][60:]).all()
    np.testing.assert_array_equal(joined.others["wind_m_s"][60:], 3.0)


def test_a_record_that_ended_long_ago_says_so_with_the_remedy():
    record = year_round(1000)
    end = record.end_day
    assert ended_words(record, end + 14, "garden.csv") == ""
    said = ended_words(record, end + 15, "garden.csv")
    assert said.startswith("The weather record ends on 2002-09-26, 15 days ago.")
    assert "teach nothing" in said
    assert said.endswith("weather: [garden.csv, {meteostat: nearest}]")
    assert "2 years ago" in ended_words(record, end + 800, "garden.csv")
    assert ended_words(replace(record, kind="monthly"), end + 800, "") == ""
