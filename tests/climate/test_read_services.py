"""The services' formats, against printed values of their own files."""

import io
import json
import math
import zipfile
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from forecast_service import metno_body, mosmix_body

from care_planner.climate.forecast import Period, by_days
from care_planner.climate.forecast_file import parse_file
from care_planner.climate.forecast_metno import parse_metno
from care_planner.climate.forecast_mosmix import parse_mosmix
from care_planner.climate.forecast_noaa import hours_of, parse_noaa

OSLO, BERLIN, SEOUL = ZoneInfo("Europe/Oslo"), ZoneInfo("Europe/Berlin"), ZoneInfo("Asia/Seoul")
NEW_YORK = ZoneInfo("America/New_York")


def iso(day: int) -> str:
    return date.fromordinal(day).isoformat()


def test_reference_metno_excerpt():
    """The excerpt printed in metno/weatherapi-docs, doc/ForecastJSON.md (CC BY 4.0): 20.7 degC at
    2020-06-10T13:00Z, then 18.4 to 20.7 degC and 0.0 mm in six hours."""
    details = {"air_temperature_max": 20.7, "air_temperature_min": 18.4, "precipitation_amount": 0.0}
    step = {
        "time": "2020-06-10T13:00:00Z",
        "data": {
            "instant": {"details": {"air_temperature": 20.7, "cloud_area_fraction": 58.0, "wind_speed": 2.5}},
            "next_1_hours": {"details": {"precipitation_amount": 0.0}},
            "next_6_hours": {"details": details},
        },
    }
    meta = {"updated_at": "2020-06-10T13:04:26Z"}
    found = parse_metno(json.dumps({"properties": {"meta": meta, "timeseries": [step]}}).encode(), UTC)
    assert iso(found.first_day) == "2020-06-10"
    assert (found.tmax_c.tolist(), found.rain_mm.tolist()) == ([20.7], [0.0])
    # Of a night six hours of an afternoon say nothing.
    assert math.isnan(found.tmin_c[0])
    assert found.issued == datetime(2020, 6, 10, 13, 4, 26, tzinfo=UTC)


def test_reference_mosmix_minima():
    """TN at 06 UTC of 13 to 22 April 2023 as they stand in tests/data/MOSMIX_L_LATEST.kmz of
    jdemaeyer/dwdparse (MIT; data: Deutscher Wetterdienst, CC BY 4.0), here in a body of the same form."""
    printed = [5.0, 0.7, 2.0, 6.3, 5.1, 4.4, 5.3, 7.7, 8.2, 9.1]
    first = datetime(2023, 4, 12, 10, tzinfo=UTC)
    steps = [first.timestamp() + 3600 * n for n in range(247)]
    cells, warmest = [], []
    for at in steps:
        when = datetime.fromtimestamp(at, UTC)
        place = (when.date() - date(2023, 4, 13)).days
        is_morning = when.hour == 6 and 0 <= place < len(printed)
        cells.append(f"{printed[place] + 273.15:.2f}" if is_morning else "293.15" if when.hour == 18 else "-")
        warmest.append("285.15" if when.hour == 18 else "-")
    body = mosmix_body(
        "2023-04-12T09:00:00.000Z",
        first,
        {
            "TTT": ["282.75"] * 247,
            "TN": cells,
            "TX": warmest,
            "E_TTT": ["0.80"] * 247,
            "RR1c": ["0.10"] * 247,
        },
    )
    found = parse_mosmix(body, BERLIN)
    assert iso(found.first_day) == "2023-04-12"
    assert math.isnan(found.tmin_c[0])
    np.testing.assert_allclose(found.tmin_c[1:], printed, atol=1e-6)
    np.testing.assert_allclose(found.tmax_c[:-1], 12.0, atol=1e-6)
    np.testing.assert_allclose(found.rain_mm[1:-1], 2.4)
    np.testing.assert_allclose(found.sd_c[1:], 1.0)  # 1.25 times an expected absolute error of 0.8


def test_reference_noaa_minima():
    """minTemperature of tests/fixtures/detailed_forecast.json of MatthewFlamm/pynws (MIT; data: NOAA)."""
    printed = [17.78, 3.89, 3.33, 5.56, 4.44, 3.89, 3.33, 4.44]
    values = [
        {"validTime": f"2022-02-{4 + n:02}T00:00:00+00:00/PT14H", "value": low}
        for n, low in enumerate(printed)
    ]
    highs = [{"validTime": f"2022-02-{4 + n:02}T12:00:00+00:00/PT12H", "value": 20.0} for n in range(8)]
    properties = {
        "updateTime": "2022-02-03T20:11:32+00:00",
        "minTemperature": {"uom": "wmoUnit:degC", "values": values},
        "maxTemperature": {"uom": "wmoUnit:degC", "values": highs},
    }
    found = parse_noaa(json.dumps({"properties": properties}).encode(), NEW_YORK)
    held = found.tmin_c[~np.isnan(found.tmin_c)]
    np.testing.assert_array_equal(held, printed)
    # 00 to 14 UTC is the evening and the night of the east coast: the day is that of its morning.
    assert iso(found.first_day + int(np.flatnonzero(~np.isnan(found.tmin_c))[0])) == "2022-02-04"


def test_the_minimum_is_the_services_own_and_not_the_lowest_hour():
    body = metno_body(datetime(2027, 3, 28, 4, tzinfo=UTC), [-3.0, -0.8, 1.0], [8.0, 9.0, 10.0])
    found = parse_metno(body, UTC)
    np.testing.assert_array_equal(found.tmin_c[1:], [-0.8, 1.0])
    np.testing.assert_array_equal(found.tmax_c, [8.0, 9.0, 10.0])
    np.testing.assert_array_equal(found.rain_mm, [0.5, 0.5, 0.5])
    assert found.cloud_pct[1] == 10.0


def test_twelve_hours_of_utc_are_not_a_night_in_korea():
    """06 to 18 UTC is 15 to 03 o'clock there, 18 to 06 is 03 to 15: both have a part in the night."""
    issued = datetime(2027, 3, 28, 3, tzinfo=UTC)
    evening = Period(datetime(2027, 3, 28, 6, tzinfo=UTC), 12, low_c=2.0)
    morning = Period(datetime(2027, 3, 28, 18, tzinfo=UTC), 12, low_c=-1.0)
    found = by_days("x", issued, [evening, morning], [], SEOUL)
    assert iso(found.first_day) == "2027-03-28"
    np.testing.assert_array_equal(found.tmin_c, [np.nan, -1.0])
    # One of the two alone leaves most of the night unknown.
    assert by_days("x", issued, [evening], [], SEOUL) is None


@pytest.mark.parametrize("zone", ["Europe/London", "Africa/Abidjan", "Europe/Berlin", "America/New_York"])
def test_the_lowest_of_a_daytime_is_no_nights_low(zone):
    """MOSMIX's TN at 18 UTC is of 06 to 18 UTC: of the day, though three hours lie before nine o'clock."""
    issued = datetime(2027, 1, 11, 3, tzinfo=UTC)
    night = Period(datetime(2027, 1, 11, 18, tzinfo=UTC), 12, low_c=4.0)
    day = Period(datetime(2027, 1, 12, 6, tzinfo=UTC), 12, low_c=-3.0)  # a front came in the afternoon
    if zone == "America/New_York":  # 06 to 18 UTC begins at one in the morning there
        night, day = replace(day, low_c=4.0), replace(night, low_c=-3.0)
    found = by_days("x", issued, [night, day], [], ZoneInfo(zone))
    lows = dict(enumerate(found.tmin_c.tolist(), found.first_day))
    assert lows[date(2027, 1, 12).toordinal()] == 4.0


@pytest.mark.parametrize("hours", range(-12, 15))
def test_twelve_hours_of_utc_give_a_low_and_a_high_in_every_zone(hours):
    """Where the cut lies in the early morning both halves are needed, and the colder is the night's."""
    start = datetime(2027, 1, 10, 6, tzinfo=UTC)
    low = [Period(start + timedelta(hours=12 * n), 12, low_c=float(n % 2)) for n in range(8)]
    high = [Period(start + timedelta(hours=12 * n), 12, high_c=9.0 + n % 2) for n in range(8)]
    found = by_days("x", start, low + high, [], timezone(timedelta(hours=hours)))
    assert np.isfinite(found.tmin_c[2:-2]).all() and np.isfinite(found.tmax_c[2:-2]).all()


def test_a_day_is_the_sites_day_on_the_night_the_clock_changes():
    issued = datetime(2027, 3, 27, 12, tzinfo=UTC)
    night = Period(datetime(2027, 3, 27, 18, tzinfo=UTC), 12, low_c=-2.5)
    found = by_days("x", issued, [night], [], OSLO)
    assert iso(found.first_day + len(found.tmin_c) - 1) == "2027-03-28"
    assert found.tmin_c[-1] == -2.5


@pytest.mark.parametrize(
    ("duration", "hours"), [("PT14H", 14), ("P1DT6H", 30), ("PT1H", 1), ("PT30M", 0.5), ("P2D", 48)]
)
def test_iso_durations(duration, hours):
    assert hours_of(duration) == hours


@pytest.mark.parametrize("duration", ["14H", "P", "PT", "PTXH", ""])
def test_what_is_no_duration_is_refused(duration):
    with pytest.raises(ValueError, match="no duration"):
        hours_of(duration)


@pytest.mark.parametrize("parse", [parse_metno, parse_mosmix, parse_noaa])
@pytest.mark.parametrize(
    "body",
    [b"", b"<html>Maintenance</html>", b"{}", b"[1]", b'{"properties": 3}', b"PK\x03\x04", b"\xff\xfe"],
)
def test_what_is_no_forecast_is_a_value_error(parse, body):
    with pytest.raises(ValueError):
        parse(body, UTC)


def test_a_kml_of_millions_of_short_elements_is_refused_before_it_fills_the_memory():
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a.kml", b"<a>" * 2_000_000 + b"</a>" * 2_000_000)
    with pytest.raises(ValueError, match="too many elements"):
        parse_mosmix(stream.getvalue(), UTC)


def test_a_file_of_ones_own_with_its_mistakes_by_line():
    text = (
        "issued,date,tmin_c,tmax_c,rain_mm\n"
        "2027-03-28T09:00,2027-03-29,-0.5,8,\n"
        "2027-03-28T09:00,2027-03-30,x,8,0\n"
        "2027-03-28T09:00,2027-03-31,9,8,0\n"
        "2027-03-28T21:00+09:00,2027-03-29,-1.5,7,2\n"
    )
    now = datetime(2027, 3, 29, tzinfo=UTC)
    issues, faults = parse_file(text, SEOUL, now)
    assert [line for line, _ in faults] == [3, 4]
    assert [f.tmin_c.tolist() for f in issues] == [[-0.5], [-1.5]]
    assert issues[0].issued == datetime(2027, 3, 28, 0, tzinfo=UTC)
    assert parse_file("date,tmin_c\n", SEOUL, now)[1] == [
        (1, "no column issued; needed: issued,date,tmin_c,tmax_c")
    ]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("2072-03-28T09:00,2027-03-29,1,8", "issued '2072-03-28T09:00' is later than now"),
        ("2027-03-29T09:11,2027-03-29,1,8", "issued '2027-03-29T09:11' is later than now"),
        ("0001-01-01T00:00,2027-03-29,1,8", "issued '0001-01-01T00:00' is no time of a forecast"),
        ("9999-12-31T23:59,2027-03-29,1,8", "issued '9999-12-31T23:59' is no time of a forecast"),
        ("2027-03-28T09:00,9999-12-31,1,8", "date '9999-12-31' is more than 60 days from its issue"),
        ("2027-03-28T09:00,0001-01-01,1,8", "date '0001-01-01' is more than 60 days from its issue"),
        ("2027-03-28T09:00,2027-03-29,1_0,18", "'1_0' is no number"),
        ("2027-03-28T09:00,2027-03-29,1,\u0661\u0660", "'\u0661\u0660' is no number"),
    ],
)
def test_a_row_that_no_forecast_of_now_has_is_passed_over(row, words):
    text = f"issued,date,tmin_c,tmax_c\n2027-03-29T09:09,2027-03-30,2,9\n{row}\n"
    issues, ((line, said),) = parse_file(text, SEOUL, datetime(2027, 3, 29, tzinfo=UTC))
    assert line == 3 and said.startswith(words)
    assert [issue.tmin_c.tolist() for issue in issues] == [[2.0]]


def test_a_file_that_is_no_csv_from_some_line_on_is_told():
    text = f"issued,date,tmin_c,tmax_c\n2027-03-29T09:09,2027-03-30,2,9\n{'x' * 200_000}\n"
    issues, ((line, said),) = parse_file(text, SEOUL, datetime(2027, 3, 29, tzinfo=UTC))
    assert line == 3 and said.startswith("not readable as CSV") and len(issues) == 1
