"""Reading a weather file: what is right gives a record, what is wrong gives every mistake with its line."""

import gzip
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from care_planner.climate.read_weather import read_weather_file
from care_planner.climate.record import WeatherRecord
from care_planner.climate.weather_table import parse_table

ROOT = Path(__file__).parents[2]
DATE_ALLOWED = "allowed: an existing day as year-month-day, such as 2024-02-29, 1750 to 2150"
NUMBER_ALLOWED = "allowed: a number such as -3.5, or an empty cell where the day is missing"
NEEDED = "needed: date,tmin_c,tmax_c or date,tmin_f,tmax_f"


@pytest.fixture
def read(tmp_path):
    """Reads a file of these bytes or this text: the record and the messages."""

    def reading(content: str | bytes) -> tuple[WeatherRecord | None, list[str]]:
        path = tmp_path / "weather.csv"
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        record, problems = read_weather_file(path, "weather.csv")
        assert (record is None) == bool(problems)
        return record, [str(problem) for problem in problems]

    return reading


def series(first: date, tmin: list[float], tmax: list[float], header: str = "date,tmin_c,tmax_c") -> str:
    rows = [
        f"{first + timedelta(days=place)},{low:.1f},{high:.1f}"
        for place, (low, high) in enumerate(zip(tmin, tmax, strict=True))
    ]
    return "\n".join([header, *rows]) + "\n"


@pytest.mark.parametrize(
    ("path", "first", "last", "missing"),
    [
        ("tests/data/brussels_1976_2005.csv.gz", date(1976, 1, 1), date(2005, 12, 31), 0),
        ("tests/data/utsunomiya_1976_2025.csv.gz", date(1976, 1, 1), date(2025, 12, 31), 0),
        ("examples/gangneung/weather.csv.gz", date(1991, 1, 1), date(2023, 12, 31), 8),
    ],
)
def test_the_real_records_are_read(path, first, last, missing):
    record, problems = read_weather_file(ROOT / path, path)
    assert problems == []
    assert record is not None
    assert (record.first_day, record.end_day - 1) == (first.toordinal(), last.toordinal())
    assert np.isnan(record.tmin_c).sum() == missing
    assert record.kind == "daily"
    assert record.source == path


def test_the_gaps_of_gangneung_are_told(read):
    record, _ = read((ROOT / "examples/gangneung/weather.csv.gz").read_bytes())
    assert record.notes == (
        "8 days missing in 8 gaps: 1993-12-31, 1997-12-31, 2001-12-31, 2005-12-31, 2009-12-31 and 3 no longer"
        " than these",
        "8 of them filled in from the days around them (gaps of up to 3 days)",
    )
    assert sorted(record.others) == ["precip_mm", "rh_mean_pct", "solar_mj_m2", "sunshine_h", "wind_m_s"]


def test_comments_other_columns_any_order_and_empty_cells(read):
    record, _ = read(
        '\ufeff# kept by "hand, at the shed\r\n\r\nnote,Date,tmax_c,tmin_c,tmean_c,precip_mm\r\n'
        "x,2024-02-28,9,1,4.5,\r\n\r\n,2024-02-29,,,,0.2\r\n,2024-03-02,8,-2,,1\r\n"
    )
    nan = np.nan
    assert record.first_day == date(2024, 2, 28).toordinal()
    np.testing.assert_array_equal(record.tmin_c, [1, nan, nan, -2])
    np.testing.assert_array_equal(record.tmax_c, [9, nan, nan, 8])
    np.testing.assert_array_equal(record.tmean_c, [4.5, nan, nan, 3])
    np.testing.assert_array_equal(record.others["precip_mm"], [nan, 0.2, nan, 1])
    assert record.notes == (
        "2 days missing in 1 gap: 2024-02-29 to 2024-03-01",
        "2 of them filled in from the days around them (gaps of up to 3 days)",
    )


def test_fahrenheit_columns_are_converted(read):
    record, _ = read("date,tmin_f,tmax_f,tmean_c\n2024-05-01,32,50,6\n2024-05-02,-40,212e-1,\n")
    np.testing.assert_allclose(record.tmin_c, [0, -40])
    np.testing.assert_allclose(record.tmax_c, [10, -6])
    np.testing.assert_allclose(record.tmean_c, [6, -23])


def test_a_file_with_many_mistakes_shows_them_all_in_order(read):
    _, messages = read(
        "date,tmin_c,tmax_c\n"
        "2024-02-30,1,2\n"
        "2024-03-01,abc,5\n"
        "2024-03-02,9,4\n"
        "2024-03-02,1,4\n"
        "2024-03-01,1,4\n"
        "2024-02-27,nan,4\n"
        "2024-03-05,-99.9,4\n"
        "2024-03-06,1\n"
        "3/7/2024,1_0,inf\n"
    )
    assert messages == [
        f"weather.csv:2: date is '2024-02-30'; {DATE_ALLOWED}",
        f"weather.csv:3: tmin_c is 'abc', not a number; {NUMBER_ALLOWED}",
        "weather.csv:4: tmin_c 9 is above tmax_c 4; allowed: Tmin at or under Tmax",
        "weather.csv:5: this day stands already on line 4; allowed: once",
        "weather.csv:6: this day stands already on line 3; allowed: once",
        f"weather.csv:7: tmin_c is 'nan', not a number; {NUMBER_ALLOWED}",
        "weather.csv:7: this day is before the one above it; allowed: days in order, oldest first",
        "weather.csv:8: tmin_c is -99.9, which cannot be; allowed: -90 to 60 degC, or an empty cell where"
        " the day is missing",
        "weather.csv:9: 2 cells in this row; the header has 3",
        f"weather.csv:10: date is '3/7/2024'; {DATE_ALLOWED}",
        f"weather.csv:10: tmin_c is '1_0', not a number; {NUMBER_ALLOWED}",
        f"weather.csv:10: tmax_c is 'inf', not a number; {NUMBER_ALLOWED}",
    ]


@pytest.mark.parametrize("cell", ["1_0", "\u0661\u0660", "\uff11\uff10"])
def test_an_underscore_is_no_part_of_a_number_nor_are_other_digits(read, cell):
    _, messages = read(f"date,tmin_c,tmax_c\n2024-01-01,{cell},20\n")
    assert messages == [f"weather.csv:2: tmin_c is '{cell}', not a number; {NUMBER_ALLOWED}"]


def test_many_mistakes_are_counted_after_the_first_twenty(read):
    _, messages = read("date,tmin_c,tmax_c\n" + "".join(f"2024-01-{day:02},9,1\n" for day in range(1, 31)))
    assert len(messages) == 21
    assert messages[0] == "weather.csv:2: tmin_c 9 is above tmax_c 1; allowed: Tmin at or under Tmax"
    assert messages[20] == "weather.csv:22: and 10 more from here on"


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("", f"weather.csv: is empty; {NEEDED}"),
        ("# only a note\n\n", f"weather.csv: is empty; {NEEDED}"),
        ("date,tmin_c,tmax_c\n", f"weather.csv:1: no day follows the header; {NEEDED}"),
        ("date,tmin_c\n2024-01-01,1\n", f"weather.csv:1: no column tmax_c; {NEEDED}"),
        (
            "date,tmin_c,tmaxc\n2024-01-01,1,2\n",
            f"weather.csv:1: no column tmax_c; is it the one named tmaxc? {NEEDED}",
        ),
        (
            "# x\ndate;tmin_c;tmax_c\n2024-01-01;1;2\n",
            "weather.csv:2: columns are separated by semicolons; allowed: commas",
        ),
        ("date\ttmin_c\ttmax_c\n", "weather.csv:1: columns are separated by tabs; allowed: commas"),
        (
            "date,tmin_c,tmin_c,tmax_c\n2024-01-01,1,1,2\n",
            "weather.csv:1: column tmin_c is there twice; allowed: once",
        ),
        (
            "date,tmin_c,tmax_f\n2024-01-01,1,2\n",
            "weather.csv:1: both degC and degF columns for Tmin and Tmax; allowed: one of the two",
        ),
        (
            b"date,tmin_c,tmax_c\n2024-01-01,1,\xff\n",
            "weather.csv:2: is not UTF-8 text; save the file as UTF-8",
        ),
        (
            "date,tmin_c,tmax_c\n2024-01-01,1,2\n".encode("utf-16"),
            "weather.csv:1: is not UTF-8 text; save the file as UTF-8",
        ),
        (
            gzip.compress(b"date,tmin_c,tmax_c\n" * 99, mtime=0)[:-9],
            "weather.csv: is a torn gzip file; fetch or save it again",
        ),
        (
            b"\x1f\x8bnothing like gzip",
            "weather.csv: is a torn gzip file; fetch or save it again",
        ),
        (
            'date,tmin_c,tmax_c\n2024-01-01,1,"2\n2024-01-02,1,2\n',
            "weather.csv:3: not readable as CSV (unexpected end of data); check the quotes",
        ),
        (
            "date,tmin_c,tmax_c,rh_mean_pct\n2024-01-01,1,2,140\n",
            "weather.csv:2: rh_mean_pct is 140, which cannot be; allowed: 0 to 100 %, or an empty cell where"
            " the day is missing",
        ),
    ],
)
def test_what_cannot_be_used_is_told_in_one_line(read, content, message):
    assert read(content) == (None, [message])


def test_a_missing_file_and_a_folder_are_told(tmp_path):
    record, problems = read_weather_file(tmp_path / "none.csv", "none.csv")
    assert record is None
    expected = "none.csv: cannot be read (No such file or directory); a CSV or CSV.gz file"
    assert [str(problem) for problem in problems] == [expected]
    _, problems = read_weather_file(tmp_path, "folder")
    assert [str(problem) for problem in problems] == [
        "folder: cannot be read (Is a directory); a CSV or CSV.gz file"
    ]


def seasonal(
    mean: float, swing: float, years: int = 1, first: date = date(2020, 1, 1)
) -> tuple[date, list[float]]:
    days = range(365 * years)
    return first, [mean - swing * np.cos(2 * np.pi * (day - 20) / 365) + (day * 7 % 11) / 3 for day in days]


def fahrenheit(celsius: list[float]) -> list[float]:
    return [value * 1.8 + 32 for value in celsius]


def test_fahrenheit_in_a_celsius_column_is_one_mistake(read):
    first, tmin = seasonal(5, 8)
    tmax = [value + 9 for value in tmin]
    assert read(series(first, tmin, tmax))[1] == []
    _, messages = read(series(first, fahrenheit(tmin), fahrenheit(tmax)))
    assert len(messages) == 1
    assert messages[0].startswith("weather.csv:1: tmax_c plainly holds degF: its mean over month ")
    assert messages[0].endswith("; allowed: degC, or columns named tmin_f and tmax_f")


@pytest.mark.parametrize(
    "path", ["tests/data/brussels_1976_2005.csv.gz", "tests/data/utsunomiya_1976_2025.csv.gz"]
)
def test_a_real_record_turned_to_fahrenheit_is_caught(read, path):
    record, _ = read_weather_file(ROOT / path, path)
    first = date.fromordinal(record.first_day)
    _, messages = read(series(first, fahrenheit(record.tmin_c[:366]), fahrenheit(record.tmax_c[:366])))
    assert len(messages) == 1
    assert "plainly holds degF" in messages[0]


def test_celsius_in_a_fahrenheit_column_is_a_mistake(read):
    first, tmin = seasonal(5, 8)
    _, messages = read(series(first, tmin, [value + 9 for value in tmin], "date,tmin_f,tmax_f"))
    assert len(messages) == 1
    assert "tmax_f plainly holds degC: the mean of its warmest month is 2" in messages[0]


def test_a_hot_desert_and_a_cold_winter_are_no_mistakes(read):
    # As hot as the hottest: means of Tmax near 48 and of Tmin near 34 degC in summer.
    first, tmin = seasonal(22, 10)
    assert read(series(first, tmin, [value + 14 for value in tmin]))[1] == []
    assert (
        read("date,tmin_f,tmax_f\n" + "".join(f"2024-01-{day:02},-9,{day}\n" for day in range(1, 32)))[1]
        == []
    )


def test_five_equal_days_are_a_gap_and_four_are_not(read):
    equal = [(f"2024-04-{day:02}", 3.0, 11.0) for day in range(2, 7)]
    rows = [("2024-04-01", 2.0, 9.0), *equal, ("2024-04-07", 3.0, 12.0)]
    record, _ = read(
        "date,tmin_c,tmax_c,tmean_c\n" + "".join(f"{day},{low},{high},7\n" for day, low, high in rows)
    )
    assert np.isnan(record.tmin_c).tolist() == [False] + [True] * 5 + [False]
    assert np.isnan(record.tmean_c).sum() == 5
    assert record.notes == (
        "5 days repeat one Tmin and Tmax for 5 days or longer and are taken as missing: 2024-04-02 to"
        " 2024-04-06",
        "5 days missing in 1 gap: 2024-04-02 to 2024-04-06",
    )
    del rows[3]
    four, _ = read("date,tmin_c,tmax_c\n" + "".join(f"{day},{low},{high}\n" for day, low, high in rows))
    assert not four.notes[0].startswith("4 days repeat")


def test_the_order_of_columns_changes_nothing(read):
    one, _ = read("date,tmin_c,tmax_c,precip_mm\n2024-01-01,1,2,3\n2024-01-02,0,4,5\n")
    other, _ = read("precip_mm,tmax_c,date,tmin_c\n3,2,2024-01-01,1\n5,4,2024-01-02,0\n")
    np.testing.assert_array_equal(one.tmin_c, other.tmin_c)
    np.testing.assert_array_equal(one.tmax_c, other.tmax_c)
    np.testing.assert_array_equal(one.others["precip_mm"], other.others["precip_mm"])


@given(st.text(max_size=200))
def test_no_text_whatever_ends_in_an_error(text):
    for content in (text, "date,tmin_c,tmax_c\n" + text, "date,tmin_c,tmax_c\n2024-01-01," + text):
        table, problems = parse_table(content, "weather.csv")
        assert table is not None or problems
        assert all("\n" not in str(problem) for problem in problems)
