"""Fetching a station through the library's real code path against a service on this machine."""

import json
import os
import subprocess
import sys
from dataclasses import fields, replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from weather_service import Service, serving

from care_planner.climate.fetch_meteostat import fetch_station
from care_planner.climate.read_store import read_nearest, read_station
from care_planner.climate.station import STATION_COLUMNS, Station, station_record
from care_planner.climate.write_store import write_station

HERE = Path(__file__).parent
NO_STORE = "no weather is stored yet: a plan needs the network once, or a weather file"


def fetch(service: Service, folder: Path, *calls: tuple[str | None, str]) -> list[dict]:
    """One run of its own that fetches for each (station, today) in turn."""
    home = folder / "home"
    home.mkdir(exist_ok=True)
    asked = [{"store": str(folder / "store"), "station": station, "today": today} for station, today in calls]
    environment = os.environ | service.environment | {"HOME": str(home), "PYTHONPATH": str(HERE.parents[1])}
    run = subprocess.run(
        [sys.executable, "-W", "error", str(HERE / "fetch_once.py")],
        input=json.dumps(asked),
        env=environment,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert run.stderr == ""
    assert list(home.iterdir()) == [], "nothing may be left in the home folder"
    return json.loads(run.stdout)


def mild(day: date) -> float:
    return float(day.month + day.day % 3)


@pytest.fixture
def service(tmp_path):
    service = Service()
    service.add_station("06451", date(2019, 3, 1), date(2024, 6, 1), mild)
    service.add_list(tmp_path, [("06451", 'Near the "Hill"\nfield', 50.1, 4.0, 110)])
    return service


def test_a_station_is_fetched_kept_and_not_asked_for_twice_a_day(service, tmp_path):
    with serving(service):
        first, again = fetch(service, tmp_path, ("06451", "2024-05-02"), ("06451", "2024-05-02"))
    days = (date(2024, 5, 2) - date(2019, 3, 1)).days
    assert first["messages"] == [f'fetched {days} new days of station 06451 Near the "Hill" field']
    assert (first["known"], first["last"]) == (days, "2024-05-01")
    assert first["source"] == 'station 06451 Near the "Hill" field, Meteostat'
    assert again == {**first, "messages": []}
    assert service.asked.count("/daily/2023/06451.csv.gz") == 1
    record = station_record(read_station(tmp_path / "store", "06451"))
    assert record.first_day == date(2019, 3, 1).toordinal()
    assert record.tmin_c[0] == mild(date(2019, 3, 1))
    np.testing.assert_allclose(record.tmax_c - record.tmin_c, 8)
    # 36 km/h and 90 minutes.
    assert record.others["wind_m_s"][0] == 10
    assert record.others["sunshine_h"][0] == 1.5
    text = (tmp_path / "store" / "06451.csv").read_text(encoding="utf-8")
    assert "# source: Meteostat (https://meteostat.net), Creative Commons Attribution 4.0" in text
    assert "# fetched: 2024-05-02" in text


def test_without_network_after_a_good_fetch_the_store_keeps_every_day(service, tmp_path):
    with serving(service):
        (good,) = fetch(service, tmp_path, ("06451", "2024-05-02"))
    kept = (tmp_path / "store" / "06451.csv").read_bytes()
    (down,) = fetch(service, tmp_path, ("06451", "2024-05-20"))
    assert down["known"] == good["known"]
    assert down["messages"] == [
        'no day of station 06451 Near the "Hill" field could be fetched: the service did not answer',
        'the stored weather of station 06451 Near the "Hill" field is used; it ends on 2024-05-01,'
        " 19 days ago",
    ]
    assert (tmp_path / "store" / "06451.csv").read_bytes() == kept


def test_without_network_and_store_it_says_so(service, tmp_path):
    service.url = "http://127.0.0.1:9"
    named, nearest = fetch(service, tmp_path, ("06451", "2024-05-02"), (None, "2024-05-02"))
    assert named["known"] == nearest["known"] == 0
    assert named["messages"] == [
        "no day of station 06451 could be fetched: the service did not answer",
        NO_STORE,
    ]
    assert nearest["messages"] == [
        "the weather could not be fetched (Exception: Failed to download the database file)",
        NO_STORE,
    ]
    assert not (tmp_path / "store").exists()


def test_a_service_that_answers_with_errors_is_asked_twice_and_no_more(service, tmp_path):
    service.broken.add("/stations.db")
    with serving(service):
        (came,) = fetch(service, tmp_path, (None, "2024-05-02"))
    assert came["messages"][-1] == NO_STORE
    assert service.asked == ["/stations.db", "/stations.db"]


def test_a_refresh_adds_days_corrects_and_loses_none(service, tmp_path):
    with serving(service):
        (first,) = fetch(service, tmp_path, ("06451", "2024-05-02"))
        # The service has lost all of 2024 but the first of January, and corrected that.
        service.add_station("06451", date(2024, 1, 1), date(2024, 1, 2), lambda day: -7.0)
        (second,) = fetch(service, tmp_path, ("06451", "2024-05-10"))
    assert second["known"] == first["known"]
    assert second["messages"] == ['fetched 0 new days of station 06451 Near the "Hill" field']
    station = read_station(tmp_path / "store", "06451")
    lows = dict(zip(station.days.tolist(), station.columns["tmin_c"].tolist(), strict=True))
    assert lows[date(2024, 1, 1).toordinal()] == -7
    assert lows[date(2024, 4, 30).toordinal()] == mild(date(2024, 4, 30))


def test_a_year_that_fails_is_said_and_asked_for_again(service, tmp_path):
    service.broken.add("/daily/2021/06451.csv.gz")
    with serving(service):
        (first,) = fetch(service, tmp_path, ("06451", "2024-05-02"))
        service.broken.clear()
        (second,) = fetch(service, tmp_path, ("06451", "2024-05-02"))
    assert first["messages"][-1] == "not answered, asked for again next time: 2021"
    assert second["messages"] == ['fetched 365 new days of station 06451 Near the "Hill" field']
    assert second["known"] == first["known"] + 365


def test_bad_rows_are_a_warning_and_a_gap(service, tmp_path):
    wrong = {date(2024, 2, 10): 99.0, date(2024, 2, 11): "'?", date(2024, 2, 12): "9.5"}
    service.add_station("06451", date(2024, 1, 1), date(2024, 6, 1), lambda day: wrong.get(day, mild(day)))
    with serving(service):
        (came,) = fetch(service, tmp_path, ("06451", "2024-03-01"))
    assert "3 fetched days with values that cannot be: taken as missing" in came["messages"]
    assert came["known"] == (date(2024, 3, 1) - date(2019, 3, 1)).days - 3
    assert came["notes"][0] == "3 days missing in 1 gap: 2024-02-10 to 2024-02-12"


def test_the_nearest_station_with_enough_days_is_taken_and_kept(service, tmp_path):
    service.add_station("00001", date(2024, 1, 1), date(2024, 6, 1), mild)
    service.add_station("00002", date(2010, 1, 1), date(2024, 6, 1), mild)
    service.add_station("00003", date(2010, 1, 1), date(2024, 6, 1), mild)
    service.add_list(
        tmp_path,
        [
            ("00001", "Short", 50.01, 4.0, 100),
            ("00002", "Long", 50.2, 4.0, 180),
            # Nearer than the long one, but on a mountain.
            ("00003", "Peak", 50.1, 4.0, 1500),
            ("00004", "Far", 53.0, 4.0, 100),
        ],
    )
    with serving(service):
        first, again = fetch(service, tmp_path, (None, "2024-05-02"), (None, "2024-05-03"))
    assert first["source"] == "station 00002 Long, Meteostat"
    assert first["messages"][:2] == [
        "the nearest station with days is 00002 Long, 22 km away",
        "it lies 80 m higher than the site",
    ]
    assert again["messages"] == ["fetched 1 new day of station 00002 Long"]
    assert service.asked.count("/stations.db") == 1
    assert not any("00004" in path for path in service.asked)
    assert station_record(read_station(tmp_path / "store", "00002")).end_day == date(2024, 5, 3).toordinal()


def test_a_store_that_cannot_be_written_is_said_and_the_record_used(service, tmp_path):
    (tmp_path / "store").write_text("a file where the folder should be")
    with serving(service):
        (came,) = fetch(service, tmp_path, ("06451", "2024-05-02"))
    assert came["messages"][-1] == "the fetched weather could not be kept in store (File exists)"
    assert came["last"] == "2024-05-01"


def test_a_half_written_file_never_takes_the_place_of_the_old_one(tmp_path, monkeypatch):
    old = Station("1", "", np.array([700000]), {name: np.array([1.0]) for name in STATION_COLUMNS})
    write_station(tmp_path, replace(old, fetched_on=700001))
    before = (tmp_path / "1.csv").read_bytes()

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OSError, match="No space left"):
        write_station(tmp_path, replace(old, fetched_on=700002))
    assert [path.name for path in tmp_path.iterdir()] == ["1.csv"]
    assert (tmp_path / "1.csv").read_bytes() == before


def test_what_was_written_is_read_back_the_same(tmp_path):
    days = np.array([738000, 738001, 738005])
    columns = {name: np.array([1.25, np.nan, 3.0]) for name in STATION_COLUMNS}
    columns["tmax_c"] = columns["tmin_c"] + 4
    written = Station("ABC1", 'A "hill", by the sea', days, columns, 738006, (1999, 2001), "Some Office")
    write_station(tmp_path, written)
    back = read_station(tmp_path, "ABC1")
    told = [field.name for field in fields(Station) if field.name not in ("days", "columns")]
    assert [getattr(back, name) for name in told] == [getattr(written, name) for name in told]
    np.testing.assert_array_equal(back.days, days)
    for name in STATION_COLUMNS:
        np.testing.assert_array_equal(back.columns[name], columns[name])


def test_stations_that_are_not_there_are_told_apart(service, tmp_path):
    service.add_list(tmp_path, [("06451", "Hill", 50.1, 4.0, 110), ("77777", "Empty", 50.1, 4.0, 110)])
    with serving(service):
        unknown, empty, path = fetch(
            service, tmp_path, ("99999", "2024-05-02"), ("77777", "2024-05-02"), ("../x", "2024-05-02")
        )
    assert unknown["messages"] == ["the weather service knows no station 99999", NO_STORE]
    assert empty["messages"] == [
        "no day of station 77777 Empty could be fetched: the service has no daily Tmin and Tmax of it",
        NO_STORE,
    ]
    assert path["messages"] == [
        "'../x' is no station id; allowed: letters and digits, such as 06451",
        NO_STORE,
    ]


def test_a_damaged_store_never_raises_and_gives_what_is_left(tmp_path):
    store = tmp_path / "store"
    assert read_station(store, "1") is None
    assert read_nearest(store, 50.8, 4.4) is None
    store.mkdir()
    (store / "nearest.json").write_text("[1, 2")
    assert read_nearest(store, 50.8, 4.4) is None
    rows = [
        "2024-01-01,1,5",
        "2024-01-02,x,5",
        "2023-01-01,8,9",
        "2023-01-02,8,9",
        "when,8,9",
        "2024-01-04,2,6",
    ]
    (store / "1.csv").write_text("\n".join(["date,tmin_c,tmax_c", *rows]))
    assert station_record(read_station(store, "1")).tmin_c.tolist()[::3] == [1, 2]
    (store / "1.csv").write_bytes(b"\xff\xfe")
    assert read_station(store, "1") is None
    assert read_station(store, "../secret") is None


def test_a_day_that_a_forecast_had_a_part_in_never_becomes_record(service, tmp_path):
    rows = ["year,month,day,tmin,tmin_source,tmax,tmax_source"]
    rows += ["2024,5,1,4,dwd_poi,12,dwd_poi", "2024,5,2,5,dwd_poi,13,dwd_poi dwd_mosmix"]
    rows += ["2024,5,3,6,metno_forecast,14,metno_forecast", "2024,5,4,7,dwd_poi,15,dwd_poi"]
    service.files.clear()
    service.add_file("/daily/2024/06451.csv.gz", "\n".join(rows) + "\n")
    service.add_list(tmp_path, [("06451", "Field", 50.1, 4.0, 110)])
    with serving(service):
        (came,) = fetch(service, tmp_path, ("06451", "2024-05-20"))
    stored = read_station(tmp_path / "store", "06451")
    kept = [date.fromordinal(int(day)).day for day in stored.days]
    assert kept == [1, 4]
    assert came["known"] == 2


def test_without_the_library_it_is_said_how_to_get_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "meteostat", None)
    record, told = fetch_station(
        tmp_path, station="06451", latitude=50.8, longitude=4.4, elevation_m=None, today=date(2027, 3, 1)
    )
    assert record is None
    assert told[0] == "fetched weather needs meteostat: pip install '.[meteostat]'"
