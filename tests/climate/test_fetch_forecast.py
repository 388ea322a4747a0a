"""Asking for a forecast through the real code path, against a service on this machine."""

import gzip
import json
from datetime import UTC, date, datetime, timedelta
from email.utils import format_datetime
from importlib.metadata import version

import pytest
from forecast_service import Say, metno_body, mosmix_body, serving

from care_planner.climate.fetch_forecast import ForecastRequest, fetch_forecast, program
from care_planner.climate.read_forecast import read_asked, read_kept

NOW = datetime(2027, 3, 28, 13, 30, tzinfo=UTC)
LOWS, HIGHS = [2.0, -0.8, 1.0, 3.0], [9.0, 10.0, 11.0, 12.0]


@pytest.fixture
def service():
    with serving() as found:
        yield found


def ask(local, tmp_path, at=NOW, **changed):
    parts = {
        "service": "met-no",
        "latitude": 50.84567,
        "longitude": 4.35123,
        "elevation_m": 60.4,
        "zone": UTC,
    }
    question = ForecastRequest(
        **{**parts, "contact": "grower@example.org", "address": local.url + "/f", **changed}
    )
    return fetch_forecast(tmp_path, question, at)


def good(issued=NOW - timedelta(hours=1), expires=NOW + timedelta(minutes=30), **more):
    headers = {"Last-Modified": format_datetime(issued, usegmt=True), "Content-Type": "application/json"}
    headers["Expires"] = format_datetime(expires, usegmt=True)
    return Say(body=metno_body(issued, LOWS, HIGHS), headers={**headers, **more})


def kept_lows(tmp_path):
    (rows,) = read_kept(tmp_path).values()
    return {date.fromordinal(row.day).isoformat(): row.tmin_c for row in rows}


def test_the_question_says_who_asks_and_sends_two_decimals(service, tmp_path):
    service.says["/f"] = good()
    assert ask(service, tmp_path) == []
    path, headers = service.last
    assert path == "/f?lat=50.85&lon=4.35&altitude=60"
    assert headers["user-agent"] == f"care_planner/{version('care_planner')} grower@example.org"
    assert headers["accept-encoding"] == "gzip"
    assert "if-modified-since" not in headers
    assert kept_lows(tmp_path)["2027-03-29"] == -0.8


def test_nothing_is_asked_before_it_expires_and_then_not_at_the_full_minute(service, tmp_path):
    service.says["/f"] = good()
    ask(service, tmp_path)
    ask(service, tmp_path, NOW + timedelta(minutes=30))
    assert len(service.asked) == 1
    wait = datetime.fromisoformat(read_asked(tmp_path).not_before) - (NOW + timedelta(minutes=30))
    assert timedelta(minutes=1) <= wait <= timedelta(minutes=11)
    service.says["/f"] = Say(304, headers={"Expires": format_datetime(NOW + timedelta(hours=2), usegmt=True)})
    assert ask(service, tmp_path, NOW + timedelta(minutes=45)) == []
    assert service.last[1]["if-modified-since"] == format_datetime(NOW - timedelta(hours=1), usegmt=True)
    assert kept_lows(tmp_path)["2027-03-29"] == -0.8
    ask(service, tmp_path, NOW + timedelta(minutes=100))
    assert len(service.asked) == 2


def test_with_nothing_kept_it_says_so(service, tmp_path):
    service.says["/f"] = Say(500)
    (said,) = ask(service, tmp_path)
    assert said.endswith("in place of a forecast; none was kept before; asked again at 13:40")


def test_a_packed_answer_is_unpacked(service, tmp_path):
    say = good(**{"Content-Encoding": "gzip"})
    say.body = gzip.compress(say.body)
    service.says["/f"] = say
    assert ask(service, tmp_path) == []
    assert kept_lows(tmp_path)["2027-03-29"] == -0.8
    say.body = say.body[:-30]
    (said,) = ask(service, tmp_path, NOW + timedelta(hours=1))
    assert "the answer was cut short" in said


@pytest.mark.parametrize(
    ("say", "words", "pause"),
    [
        (Say(403), "it refuses the question (403): is `contact`", timedelta(hours=6)),
        (Say(429), "it asks to be asked less often (429)", timedelta(hours=1)),
        (Say(429, headers={"Retry-After": "7200"}), "less often (429)", timedelta(hours=2)),
        (Say(422), "it does not cover this place (422)", timedelta(minutes=10)),
        (Say(500), "it answered 500 in place of a forecast", timedelta(minutes=10)),
        (Say(302, headers={"Location": "/f"}), "it answered 302", timedelta(minutes=10)),
        (Say(200, b"<html>We are back soon</html>"), "the answer is no forecast", timedelta(minutes=10)),
        (Say(200, b""), "the answer is no forecast", timedelta(minutes=10)),
        (Say(200, good().body, cut=True), "the answer was cut short", timedelta(minutes=10)),
    ],
)
def test_what_is_no_forecast_is_told_and_the_kept_one_stays(service, tmp_path, say, words, pause):
    service.says["/f"] = good()
    ask(service, tmp_path)
    before, later = read_kept(tmp_path), NOW + timedelta(hours=1)
    service.says["/f"] = say
    (said,) = ask(service, tmp_path, later)
    assert said.startswith("met-no: ") and words in said
    assert said.endswith(f"the forecast kept before is used; asked again at {later + pause:%H:%M}")
    assert read_kept(tmp_path) == before
    assert read_asked(tmp_path).issued == (NOW - timedelta(hours=1)).isoformat()
    assert datetime.fromisoformat(read_asked(tmp_path).not_before) == later + pause
    asked = len(service.asked)
    assert ask(service, tmp_path, later + pause - timedelta(seconds=1)) == [said]
    assert len(service.asked) == asked


def test_each_failure_in_a_row_waits_longer_up_to_six_hours(service, tmp_path):
    service.says["/f"] = Say(500)
    at, waits = NOW, []
    for _ in range(8):
        ask(service, tmp_path, at)
        then = datetime.fromisoformat(read_asked(tmp_path).not_before)
        waits.append((then - at) / timedelta(minutes=1))
        at = then
    assert waits == [10, 20, 40, 80, 160, 320, 360, 360]


def test_nobody_there_is_told(tmp_path):
    with serving() as service:
        pass
    (said,) = ask(service, tmp_path)
    assert "no answer" in said


def test_203_is_used_and_warned_of(service, tmp_path):
    say = good()
    say.status = 203
    service.says["/f"] = say
    (said,) = ask(service, tmp_path)
    assert "ends soon (203)" in said
    assert kept_lows(tmp_path)["2027-03-29"] == -0.8


def test_the_newest_issue_of_a_day_stays_and_other_days_are_kept_beside_it(service, tmp_path):
    service.says["/f"] = good()
    ask(service, tmp_path)
    evening = NOW + timedelta(hours=6)
    LATER = [2.0, -2.0, 0.0, 2.0]
    service.says["/f"] = Say(body=metno_body(evening - timedelta(hours=1), LATER, HIGHS))
    ask(service, tmp_path, evening)
    assert kept_lows(tmp_path)["2027-03-29"] == -2.0
    tomorrow = NOW + timedelta(days=1)
    service.says["/f"] = Say(body=metno_body(tomorrow - timedelta(hours=1), [0.0, 5.0, 5.0], [9.0, 9.0, 9.0]))
    ask(service, tmp_path, tomorrow)
    leads = {
        (row.lead, row.tmin_c)
        for rows in read_kept(tmp_path).values()
        for row in rows
        if row.day == date(2027, 3, 30).toordinal()
    }
    assert leads == {(2, 0.0), (1, 5.0)}


def test_mosmix_asks_for_its_station(service, tmp_path):
    first = datetime(2027, 3, 28, 10, tzinfo=UTC)
    cells = ["272.35" if (first + timedelta(hours=n)).hour == 6 else "-" for n in range(40)]
    path = "/f/10315/kml/MOSMIX_L_LATEST_10315.kmz"
    service.says[path] = Say(body=mosmix_body("2027-03-28T09:00:00.000Z", first, {"TN": cells}))
    assert ask(service, tmp_path, service="dwd-mosmix", station="10315", contact="") == []
    assert service.last[0] == path
    assert service.last[1]["user-agent"] == program()
    assert kept_lows(tmp_path) == {"2027-03-29": -0.8}
    (said,) = ask(service, tmp_path / "other", service="dwd-mosmix", station="99999")
    assert "it knows no such place (404)" in said


def test_noaa_asks_for_the_grid_once(service, tmp_path):
    service.says["/f/points/40.7,-74.01"] = Say(
        body=json.dumps({"properties": {"forecastGridData": service.url + "/grid"}}).encode()
    )
    night = {"validTime": "2027-03-29T00:00:00+00:00/PT14H", "value": -1.1}
    grid = {"updateTime": "2027-03-28T12:00:00+00:00", "minTemperature": {"values": [night]}}
    service.says["/grid"] = Say(body=json.dumps({"properties": grid}).encode())
    for at in (NOW, NOW + timedelta(hours=3)):
        assert ask(service, tmp_path, at, service="noaa", latitude=40.6999, longitude=-74.0060) == []
    assert [path for path, _ in service.asked] == ["/f/points/40.7,-74.01", "/grid", "/grid"]
    assert kept_lows(tmp_path) == {"2027-03-29": -1.1}


def test_another_service_does_not_wait_for_the_one_before(service, tmp_path):
    service.says["/f"] = good()
    ask(service, tmp_path)
    path = "/f/10315/kml/MOSMIX_L_LATEST_10315.kmz"
    service.says[path] = Say(500)
    assert len(ask(service, tmp_path, service="dwd-mosmix", station="10315")) == 1


def far(**more):
    """Met.no's body with a time, a number or a depth that no forecast has."""
    body = json.loads(good().body)
    step = body["properties"]["timeseries"][-1]
    step["time"] = more.get("time", step["time"])
    step["data"]["next_6_hours"]["details"]["air_temperature_min"] = more.get("low", 1.0)
    return json.dumps(body).encode()


GRID = {"updateTime": "2027-03-28T12:00:00+00:00"}


@pytest.mark.parametrize(
    ("service_name", "body"),
    [
        ("met-no", far(time="9999-12-31T23:00:00Z")),
        ("met-no", far(time="0001-01-01T00:00:00+14:00")),
        ("met-no", far(time="2127-03-28T13:00:00Z")),
        ("met-no", b"[" * 100_000),
        ("noaa", b'{"properties": ' * 100_000),
        *(
            ("noaa", json.dumps({"properties": {**GRID, layer: {"values": [value]}}}).encode())
            for layer in ("minTemperature", "skyCover")
            for value in ({"validTime": f"{GRID['updateTime']}/P9999999D", "value": 1.0},)
        ),
    ],
)
def test_an_answer_that_no_service_gives_is_told(service, tmp_path, service_name, body):
    service.says["/f"] = Say(200, body)
    service.says["/f/points/50.85,4.35"] = Say(
        200, json.dumps({"properties": {"forecastGridData": service.url + "/f"}}).encode()
    )
    (said,) = ask(service, tmp_path, service=service_name)
    assert "the answer is no forecast" in said


def test_a_number_without_end_is_no_value(service, tmp_path):
    service.says["/f"] = Say(200, far(low=10**400))
    assert ask(service, tmp_path) == []


def test_a_point_that_is_nested_without_end_is_told(service, tmp_path):
    service.says["/f/points/50.85,4.35"] = Say(200, b"[" * 100_000)
    (said,) = ask(service, tmp_path, service="noaa")
    assert "the point has no forecast grid" in said


@pytest.mark.parametrize("damage", ["[" * 100_000, '{"a": ' * 100_000])
def test_a_store_that_is_nested_without_end_is_begun_anew(service, tmp_path, damage):
    (tmp_path / "forecast").mkdir()
    (tmp_path / "forecast" / "asked.json").write_text(damage, encoding="utf-8")
    service.says["/f"] = good()
    assert ask(service, tmp_path) == []


def test_a_store_that_is_damaged_is_begun_anew(service, tmp_path):
    (tmp_path / "forecast").mkdir()
    (tmp_path / "forecast" / "asked.json").write_text('{"failures": "x", "source": 3}', encoding="utf-8")
    (tmp_path / "forecast" / "kept.csv").write_text("issued,date\nx,y\n\x00", encoding="utf-8")
    service.says["/f"] = good()
    assert ask(service, tmp_path) == []
    assert kept_lows(tmp_path)["2027-03-29"] == -0.8
