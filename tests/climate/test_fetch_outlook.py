"""The forecast of a collection: whose it is, what of a file is believed, what was known on another day."""

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from forecast_service import Say, Service, metno_body, mosmix_body, serving

from care_planner.climate.record import WeatherRecord
from care_planner.collection.model import Collection
from care_planner.collection.read_collection import read_collection
from care_planner.folder.fetch_outlook import fetch_outlook

ZONE = ZoneInfo("Europe/London")
NOW = datetime(2027, 3, 28, 13, 30, tzinfo=UTC)
TODAY = date(2027, 3, 28).toordinal()
HEADER = "issued,date,tmin_c,tmax_c\n"
GOOD = "2027-03-28T06:00Z,2027-03-29,2,9\n"


def collection(folder: Path, forecast: str, latitude: float = 50.8) -> Collection:
    site = f"name: Yard, latitude: {latitude}, longitude: 0.4, timezone: Europe/London"
    monthly = f"tmin_c: {[1] * 12}, tmax_c: {[9] * 12}"
    (folder / "collection.yaml").write_text(
        f"site: {{{site}, weather: {{monthly: {{{monthly}}}}}}}\nbenches: {{open: {{}}}}\n"
        f"forecast: {forecast}\ntrees: [{{id: maple-01, taxon: japanese-maple, bench: open}}]\n",
        encoding="utf-8",
    )
    found, _, problems = read_collection(folder)
    assert found is not None, problems
    return found


def record(low: float = 1.0, days: int = 200) -> WeatherRecord:
    lows = np.full(days, low)
    return WeatherRecord(TODAY - days, lows, lows + 8, lows + 4)


def look(folder: Path, forecast: str, now: datetime = NOW, today: int | None = None, latitude: float = 50.8):
    outlook, said = fetch_outlook(folder, collection(folder, forecast, latitude), record(), now, today)
    assert outlook is not None
    return outlook, said


def lows(outlook) -> dict[int, float]:
    return {day.day - TODAY: round(day.tmin_c, 2) for day in outlook.days}


FILE = "{service: file, file: f.csv}"


def test_a_wrong_year_in_a_file_is_told_and_blocks_nothing(tmp_path: Path) -> None:
    path = tmp_path / "f.csv"
    path.write_text(HEADER + GOOD + "2072-03-28T06:00Z,2072-03-29,2,9\n", encoding="utf-8")
    outlook, (said,) = look(tmp_path, FILE)
    assert said == "f.csv:3: issued '2072-03-28T06:00Z' is later than now; this row is passed over"
    assert lows(outlook) == {1: 2.0} and outlook.issued == datetime(2027, 3, 28, 6, tzinfo=UTC)
    path.write_text(HEADER + GOOD + "2027-03-29T06:00Z,2027-03-30,4,9\n", encoding="utf-8")
    outlook, said = look(tmp_path, FILE, NOW + timedelta(days=1))
    assert said == [] and lows(outlook) == {1: 2.0, 2: 4.0}


def test_kept_rows_of_the_future_heal(tmp_path: Path) -> None:
    path = tmp_path / "f.csv"
    path.write_text(HEADER + "2072-03-28T06:00Z,2072-03-29,2,9\n", encoding="utf-8")
    look(tmp_path, FILE, datetime(2072, 3, 28, 12, tzinfo=UTC))  # the machine's clock was wrong once
    path.write_text(HEADER + GOOD, encoding="utf-8")
    outlook, said = look(tmp_path, FILE)
    assert said == [] and lows(outlook) == {1: 2.0}
    path.unlink()
    outlook, _ = look(tmp_path, FILE)  # what was kept holds no more of it
    assert lows(outlook) == {1: 2.0} and outlook.issued == datetime(2027, 3, 28, 6, tzinfo=UTC)


@pytest.mark.parametrize(
    "row",
    [
        "0001-01-01T00:00,2027-03-29,2,9",
        "2027-03-28T06:00,9999-12-31,2,9",
        "2027-03-28T06:00,2027-03-29,1_0,19",
    ],
)
def test_a_row_that_cannot_be_is_told_by_file_and_line(tmp_path: Path, row: str) -> None:
    (tmp_path / "f.csv").write_text(HEADER + GOOD + row + "\n", encoding="utf-8")
    outlook, (said,) = look(tmp_path, FILE)
    assert said.startswith("f.csv:3: ") and said.endswith("this row is passed over")
    assert lows(outlook) == {1: 2.0}


def test_a_file_says_what_was_known_on_another_day_without_being_kept(tmp_path: Path) -> None:
    text = HEADER + "2027-02-10T06:00Z,2027-02-11,-3,4\n2027-02-10T18:00Z,2027-02-11,-4,4\n" + GOOD
    (tmp_path / "f.csv").write_text(text, encoding="utf-8")
    then = date(2027, 2, 10).toordinal()
    outlook, said = look(tmp_path, FILE, today=then)
    assert said == [] and [(day.day - then, day.tmin_c) for day in outlook.days] == [(1, -4.0)]
    assert outlook.issued == datetime(2027, 2, 10, 18, tzinfo=UTC)
    assert not (tmp_path / "weather").exists()
    # A day to come too: the file of a try may be of then.
    (tmp_path / "f.csv").write_text(HEADER + "2027-06-10T06:00Z,2027-06-11,9,20\n", encoding="utf-8")
    outlook, said = look(tmp_path, FILE, today=date(2027, 6, 10).toordinal())
    assert said == [] and [day.tmin_c for day in outlook.days] == [9.0]


def noaa_grid(service: Service, name: str, low: float) -> None:
    night = {"validTime": "2027-03-29T00:00:00+00:00/PT14H", "value": low}
    grid = {"updateTime": "2027-03-28T12:00:00+00:00", "minTemperature": {"values": [night]}}
    service.says[name] = Say(body=json.dumps({"properties": grid}).encode())


def test_a_changed_place_is_asked_for_with_its_own_grid(tmp_path: Path) -> None:
    with serving() as service:
        for latitude, name, low in (("50.8", "/a", 9.0), ("40.8", "/b", -9.0)):
            point = json.dumps({"properties": {"forecastGridData": service.url + name}}).encode()
            service.says[f"/points/{latitude},0.4"] = Say(body=point)
            noaa_grid(service, name, low)
        chosen = f"{{service: noaa, contact: me@example.org, address: '{service.url}'}}"
        assert lows(look(tmp_path, chosen)[0]) == {1: 9.0}
        outlook, said = look(tmp_path, chosen, NOW + timedelta(minutes=1), latitude=40.8)
    assert said == [] and lows(outlook) == {1: -9.0}


def mosmix(low: float) -> bytes:
    first = datetime(2027, 3, 28, 10, tzinfo=UTC)
    cells = [f"{low + 273.15}" if (first + timedelta(hours=n)).hour == 6 else "-" for n in range(40)]
    return mosmix_body("2027-03-28T09:00:00.000Z", first, {"TN": cells})


def dwd(service: Service, station: str) -> str:
    return f"{{service: dwd-mosmix, station: '{station}', address: '{service.url}'}}"


def dwd_path(station: str) -> str:
    return f"/{station}/kml/MOSMIX_L_LATEST_{station}.kmz"


def test_a_changed_station_does_not_ask_with_the_old_ones_time(tmp_path: Path) -> None:
    stamp = {"Last-Modified": "Sun, 28 Mar 2027 09:00:00 GMT"}
    with serving() as service:
        service.says[dwd_path("10315")] = Say(body=mosmix(9.0), headers=stamp)
        look(tmp_path, dwd(service, "10315"))
        service.says[dwd_path("10384")] = Say(304)
        outlook, (said,) = look(tmp_path, dwd(service, "10384"), NOW + timedelta(hours=3))
        assert "if-modified-since" not in service.last[1]
    assert "none was kept before" in said
    assert outlook.days == () and outlook.issued is None


def test_no_service_is_shown_under_anothers_name(tmp_path: Path) -> None:
    with serving() as service:
        service.says[dwd_path("10315")] = Say(body=mosmix(-2.0))
        assert lows(look(tmp_path, dwd(service, "10315"))[0]) == {1: -2.0}
        service.says["/m"] = Say(500)
        met = f"{{service: met-no, contact: me@example.org, address: '{service.url}/m'}}"
        outlook, (said,) = look(tmp_path, met, NOW + timedelta(minutes=1))
        assert "none was kept before" in said
        assert outlook.days == () and outlook.issued is None
        # Back again: what was kept of it is there.
        service.says[dwd_path("10315")] = Say(500)
        outlook, (said,) = look(tmp_path, dwd(service, "10315"), NOW + timedelta(minutes=2))
    assert lows(outlook) == {1: -2.0} and "the forecast kept before is used" in said
    assert outlook.attribution.startswith("Datenbasis: Deutscher Wetterdienst")


def test_what_a_file_erred_by_is_not_taken_off_a_service(tmp_path: Path) -> None:
    rows = [
        f"{day - timedelta(1)}T12:00Z,{day},5,13\n"
        for day in (date(2027, 1, 1) + timedelta(n) for n in range(60))
    ]
    (tmp_path / "f.csv").write_text(
        HEADER + "".join(rows) + "2027-03-28T06:00Z,2027-03-29,8,17\n", encoding="utf-8"
    )
    outlook, _ = look(tmp_path, FILE)
    assert lows(outlook)[1] == 4.0 and outlook.low_law.pairs[0] == 60  # 4 degC too warm on 60 nights
    with serving() as service:
        service.says["/m"] = Say(body=metno_body(NOW - timedelta(hours=1), [2.0, 8.0], [9.0, 17.0]))
        outlook, said = look(
            tmp_path, f"{{service: met-no, contact: me@example.org, address: '{service.url}/m'}}"
        )
    assert said == [] and lows(outlook)[1] == 8.0 and outlook.low_law.pairs[0] == 0


def test_a_changed_contact_is_asked_with_at_once_and_waiting_is_told(tmp_path: Path) -> None:
    with serving() as service:
        met = f"{{service: met-no, contact: CONTACT, address: '{service.url}/m'}}"
        service.says["/m"] = Say(403)
        _, (said,) = look(tmp_path, met.replace("CONTACT", "me@example.org"))
        assert said.endswith("asked again at 20:30")  # summer time has begun there
        later = NOW + timedelta(minutes=5)
        assert look(tmp_path, met.replace("CONTACT", "me@example.org"), later)[1] == [said]
        assert len(service.asked) == 1
        service.says["/m"] = Say(body=metno_body(NOW - timedelta(hours=1), [2.0, 3.0], [9.0, 17.0]))
        outlook, said = look(tmp_path, met.replace("CONTACT", "real@example.org"), later)
    assert said == [] and lows(outlook)[1] == 3.0


def test_a_service_whose_clock_is_ahead_is_believed_and_one_of_another_century_is_not(tmp_path: Path) -> None:
    with serving() as service:
        met = f"{{service: met-no, contact: me@example.org, address: '{service.url}/m'}}"
        ahead = NOW + timedelta(hours=11)
        service.says["/m"] = Say(body=metno_body(ahead, [2.0, 3.0, 4.0], [9.0, 17.0, 17.0]))
        outlook, said = look(tmp_path, met)
        assert said == [] and outlook.issued == NOW
        service.says["/m"] = Say(body=metno_body(NOW.replace(year=2072), [2.0, 3.0], [9.0, 17.0]))
        outlook, (said,) = look(tmp_path, met, NOW + timedelta(hours=2))
    assert "it was issued at 2072-03-28T13:30:00+00:00, which is later than now" in said
    assert outlook.issued == NOW
