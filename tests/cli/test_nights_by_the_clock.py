"""What tonight and plan make of one night as the clock goes on: until morning, and with a deaf alarm."""

import shutil
from datetime import date, timedelta

import icalendar
import pendulum
import pytest
from click.testing import CliRunner
from example_copy import EXAMPLE

from care_planner.cli import main

DAY = date(2027, 1, 15)
TREES = """\
trees:
  - {id: pine-02, taxon: japanese-black-pine, bench: open, age: young, condition: strong}
  - {id: maple-02, taxon: japanese-maple, bench: frost-pocket, age: young, condition: strong}
"""


@pytest.fixture
def folder(tmp_path):
    shutil.copytree(EXAMPLE, tmp_path / "g", ignore=shutil.ignore_patterns("calendar", "journal"))
    path = tmp_path / "g" / "collection.yaml"
    head = path.read_text(encoding="utf-8").partition("trees:")[0]
    path.write_text(f"{head}forecast: {{service: file, file: f.csv}}\n{TREES}", encoding="utf-8")
    return tmp_path / "g"


@pytest.fixture
def clock(monkeypatch):
    def at(text):
        moment = pendulum.parse(f"{text}+09:00")
        monkeypatch.setattr(pendulum, "now", lambda zone="UTC": moment.in_timezone(zone))

    return at


def forecast(folder, lows, issued):
    """Lows from `DAY` on."""
    rows = [f"{issued}+09:00,{DAY + timedelta(days=n)},{low},12" for n, low in enumerate(lows)]
    (folder / "f.csv").write_text("\n".join(["issued,date,tmin_c,tmax_c", *rows]) + "\n", encoding="utf-8")


def run(*words):
    done = CliRunner().invoke(main, [str(word) for word in words])
    assert done.exit_code == 0, done.output
    return " ".join(done.output.split())


def nights(folder):
    events = icalendar.Calendar.from_ical((folder / "calendar" / "all.ics").read_bytes()).walk("VEVENT")
    return {event.start: str(event["SUMMARY"]) for event in events if "rost" in str(event["SUMMARY"])}


def test_at_half_past_midnight_the_night_under_way_comes_first(folder, clock):
    forecast(folder, [-9, 8, 8, 8], f"{DAY - timedelta(days=1)}T18:00")
    clock(f"{DAY}T00:30:00")
    said = run("tonight", folder)
    assert "Frost this night, until morning, nearly certain: " in said
    assert "The coming night: nothing called for." in said
    clock(f"{DAY}T09:30:00")
    said = run("tonight", folder)
    assert "until morning" not in said and "Tonight: nothing called for." in said


def test_a_quiet_night_is_told_of_the_coldest_bench_with_trees(folder, clock):
    forecast(folder, [8, 8, 8, 8], f"{DAY}T06:00")
    clock(f"{DAY}T12:00:00")
    said = run("tonight", folder)
    assert "Low of 6.0 degC expected at frost-pocket, the coldest place, give or take" in said


def test_a_night_that_has_passed_stays_in_the_calendar(folder, clock):
    forecast(folder, [2, -9, 8, 8], f"{DAY}T06:00")
    clock(f"{DAY}T13:00:00")
    run("plan", folder)
    told = nights(folder)[DAY]
    for later in ("07:00:00", "10:00:00"):
        clock(f"{DAY + timedelta(days=1)}T{later}")
        run("plan", folder)
        assert nights(folder)[DAY] == told


def test_an_alarm_that_reached_nobody_is_tried_again_at_the_next_run(folder, clock):
    path, got = folder / "collection.yaml", folder.parent / "got.txt"
    text = path.read_text(encoding="utf-8")
    path.write_text("alarm: {command: [/nowhere/at/all]}\n" + text, encoding="utf-8")
    forecast(folder, [2, -9, 8, 8], f"{DAY}T06:00")
    clock(f"{DAY}T13:00:00")
    assert "/nowhere/at/all could not be run" in run("tonight", folder)
    path.write_text(f"alarm: {{command: [/bin/sh, -c, 'cat >> {got}']}}\n" + text, encoding="utf-8")
    for hour in (14, 15):
        clock(f"{DAY}T{hour}:00:00")
        run("tonight", folder)
    assert got.read_text(encoding="utf-8").count("Frost tonight") == 1


def test_days_without_a_new_forecast_are_not_silence(folder, clock):
    forecast(folder, [6] * 9, f"{DAY - timedelta(days=2)}T06:00")
    clock(f"{DAY - timedelta(days=1)}T12:00:00")
    assert "No forecast since" not in run("tonight", folder)
    clock(f"{DAY}T12:00:00")
    assert "No forecast since Wed 13 Jan: look at another service" in run("tonight", folder)
