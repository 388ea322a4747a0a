"""The commands where something is wrong or unusual: a message, an exit code, the last calendar whole."""

import errno
import json
import os
import re
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pendulum
import pytest
from click.testing import CliRunner, Result
from icalendar import Calendar
from plan_rows import stage_rows
from small_world import smooth_record

from care_planner import cli
from care_planner.climate.record import WeatherRecord
from care_planner.folder import fetch_weather

COLLECTION = """\
site: {name: Two trees, latitude: 37.75, longitude: 128.9, timezone: Asia/Seoul, weather: %s}
benches: {open: {}, shed: {floor_c: 2, vent_c: 8}}
people: {days: [sat]}
trees:
  - {id: elm, taxon: %s, bench: open, winter_bench: shed, age: established, condition: strong,
     last_repot: {date: 2023-03-20}}
  - {id: pine, taxon: japanese-black-pine, bench: open}
"""
NOW = pendulum.datetime(2027, 3, 1, 20, 0, 0, tz="UTC")  # 2 March in Seoul


def weather_text(record: WeatherRecord, first_year: int = 2001, years: int = 12) -> str:
    """A record's whole years as a file, with a decimal place that differs from day to day."""
    start = date(first_year, 1, 1).toordinal() - record.first_day
    end = date(first_year + years, 1, 1).toordinal() - record.first_day
    rows = [
        f"{date.fromordinal(record.first_day + n)},{record.tmin_c[n]:.2f},{record.tmax_c[n]:.2f}"
        for n in range(start, end)
    ]
    return "\n".join(["date,tmin_c,tmax_c", *rows, ""])


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A collection of two trees, on 1 March 2027 in the evening (UTC)."""
    monkeypatch.setattr(pendulum, "now", lambda zone: NOW.in_timezone(zone))
    made = tmp_path / "trees"
    made.mkdir()
    (made / "weather.csv").write_text(weather_text(smooth_record()), encoding="utf-8")
    (made / "collection.yaml").write_text(COLLECTION % ("weather.csv", "japanese-maple"), encoding="utf-8")
    return made


def run(*args: object) -> Result:
    return CliRunner().invoke(cli.main, [str(arg) for arg in args])


def failed(result: Result, code: int) -> str:
    """What a failed command said: plain messages, no traceback."""
    assert result.exit_code == code, result.output
    assert "Traceback" not in result.output
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.output


def files(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def note(folder: Path, text: str) -> None:
    (folder / "journal").mkdir(exist_ok=True)
    (folder / "journal" / "2027.yaml").write_text(text + "\n", encoding="utf-8")


# What is printed.


def test_weeks_then_months_then_what_is_to_be_known(folder: Path) -> None:
    printed = run("plan", folder).stdout.splitlines()
    assert printed[0].startswith("The weather record ends on 2012-12-31")  # the remedy comes first
    lines = printed[next(n for n, line in enumerate(printed) if line.startswith("Two trees")) :]
    assert lines[0] == "Two trees: plan from Tue 2 Mar 2027, season 2027"  # the day it is in Seoul
    weeks = [n for n, line in enumerate(lines) if line.startswith("Week of ")]
    later = lines.index("Later, to 31 Dec 2028 (--all shows every day)")
    asked = lines.index("To know and to decide")
    assert "This weekend" in lines[:4] and lines[weeks[0]] == "Week of 8 Mar 2027" and len(weeks) <= 8
    assert weeks[-1] < later < asked
    assert re.match(r"  [A-Z][a-z]{2} 202[78]  +\d+ works?: ", lines[later + 1])
    assert any(line.startswith("  pine: ") and "not known" in line for line in lines[asked:])


@pytest.mark.parametrize("command", ["", *sorted(cli.main.commands)])
def test_help_fits_eighty_columns(command: str) -> None:
    result = run(*([command] if command else []), "--help")
    assert result.exit_code == 0
    assert [line for line in result.output.splitlines() if len(line) > 80] == []


def test_the_default_place_and_the_identity(folder: Path) -> None:
    assert run("plan", folder).exit_code == 0
    written = set(files(folder))
    assert {"calendar/all.ics", "calendar/plan.json", "calendar/trees/elm.ics", "identity.txt"} <= written
    before = files(folder)
    assert run("plan", folder).exit_code == 0
    assert files(folder) == before


def test_plan_json_is_sorted_and_whole(folder: Path) -> None:
    run("plan", folder)
    path = folder / "calendar" / "plan.json"
    data = json.loads(path.read_text(encoding="utf-8"))
    assert {"version", "today", "season", "until", "texts", "tasks", "stages", "problems"} <= set(data)
    keys = {"tree", "taxon", "rule", "season", "kind", "way", "loss", "minutes", "window", "title", "days"}
    for task in data["tasks"]:
        assert keys <= set(task) and len(task["window"]) == 3
        assert task["kind"] in ("work", "look") and task["days"]
    order = [(task["tree"], task["rule"], task["season"], task["kind"]) for task in data["tasks"]]
    assert order == sorted(order)
    for row in stage_rows(path):
        assert row["basis"] in ("observed", "expected", "unknown") and row["season"] in (2027, 2028)


# Why.


def test_why_for_what_is_planned_lost_and_asked(folder: Path) -> None:
    planned = run("why", folder, "elm", "repot").stdout
    assert (
        "Season 2027" in planned
        and "Why now: " in planned
        and "Journal: no notes on this tree yet" in planned
    )
    assert (
        "does not come: a fact is missing: its last repot or its age is not known"
        in run("why", folder, "pine", "repot").stdout
    )
    text = " ".join(run("why", folder, "elm", "rescue-repot").stdout.split())
    assert "does not come: only where root-rot was noted" in text


def test_why_explains_the_day_that_was_published(folder: Path) -> None:
    run("plan", folder)
    path = folder / "calendar" / "plan.json"
    data = json.loads(path.read_text(encoding="utf-8"))
    (repot,) = (t for t in data["tasks"] if (t["tree"], t["rule"], t["kind"]) == ("elm", "repot", "work"))
    published = date.fromordinal(date.fromisoformat(repot["days"][0][1]).toordinal() + 1)
    repot["days"][0][1] = str(published)
    path.write_text(json.dumps(data), encoding="utf-8")
    text = run("why", folder, "elm", "repot").stdout
    assert f" {published:%b} {published.year}: Repot" in text
    assert "as published before" in text


def test_why_of_what_is_not_there(folder: Path) -> None:
    assert failed(run("why", folder, "elmm", "repot"), 2) == "TREE: unknown tree 'elmm'; did you mean elm?\n"
    assert (
        failed(run("why", folder, "elm", "repto"), 2) == "TASK: unknown work 'repto'; did you mean repot?\n"
    )


# Wrong input.


def test_an_unknown_taxon(folder: Path) -> None:
    edit(folder / "collection.yaml", "japanese-maple", "japanese-mapel")
    said = failed(run("plan", folder), 2)
    assert said == "collection.yaml:5: unknown taxon 'japanese-mapel'; did you mean japanese-maple?\n"


def test_every_mistake_of_every_file_at_once(folder: Path) -> None:
    edit(folder / "collection.yaml", "bench: open, winter_bench", "bench: opn, winter_bench")
    edit(folder / "weather.csv", "2003-05-01,", "2003-05-01,99.0")
    (folder / "rules").mkdir()
    (folder / "rules" / "own.yaml").write_text("lays_over: container-tre\nrules: []\n", encoding="utf-8")
    said = failed(run("check", folder), 2).splitlines()
    assert "collection.yaml:5: bench 'opn' is unknown; did you mean open?" in said
    assert "rules/own.yaml:1: unknown pack 'container-tre'; did you mean container-tree?" in said
    assert any(line.startswith("weather.csv:852: ") for line in said)


@pytest.mark.parametrize(
    "name", ['"a\\0b"', '"a\\nb"', "../x.csv", "/etc/passwd", '"C:\\\\x"', '"."', '""', "[[1]]", "{a: 1}"]
)
def test_what_is_no_name_of_a_weather_file(folder: Path, name: str) -> None:
    edit(folder / "collection.yaml", "weather: weather.csv", f"weather: {name}")
    said = failed(run("plan", folder), 2)
    assert said.startswith("collection.yaml:1: ") and len(said.splitlines()) == 1


def test_a_wrong_weather_file(folder: Path) -> None:
    edit(folder / "weather.csv", "2003-05-01,", "2003-05-01,99.0")
    said = failed(run("plan", folder), 2)
    assert said.startswith("weather.csv:852: ") and len(said.splitlines()) == 1
    (folder / "weather.csv").unlink()
    assert failed(run("plan", folder), 2).startswith("weather.csv: cannot be read (No such file")


def test_a_pack_whose_stages_form_a_circle(folder: Path) -> None:
    (folder / "rules").mkdir()
    (folder / "rules" / "own.yaml").write_text(
        "lays_over: japanese-maple\nrules:\n  - id: repot\n    opens: {work: repot-aftercare}\n",
        encoding="utf-8",
    )
    said = failed(run("plan", folder), 2)
    assert said.startswith("rules/own.yaml:3: a circle: repot") and "waits for" in said
    assert not (folder / "calendar").exists()


def test_today_is_that_of_the_collection_s_time_zone(folder: Path) -> None:
    note(folder, "- {date: 2027-03-02, tree: elm, saw: bud-swell}")
    assert run("check", folder).exit_code == 0
    edit(folder / "collection.yaml", "Asia/Seoul", "UTC")
    said = failed(run("check", folder), 2)
    assert (
        said
        == "journal/2027.yaml:1: dated 2027-03-02, which is after today; allowed: 2027-03-01 or earlier\n"
    )
    # For a plan of a later day such a note is not too early.
    assert run("plan", folder, "--today", "2027-03-02").exit_code == 0


def test_no_date(folder: Path) -> None:
    said = failed(run("plan", folder, "--today", "2027-02-30"), 2)
    assert "'2027-02-30' is no date; allowed: a date such as 2027-03-01" in " ".join(said.split())


def test_an_example_that_fails_is_an_error(folder: Path) -> None:
    (folder / "rules").mkdir()
    (folder / "rules" / "own.yaml").write_text(
        "lays_over: japanese-maple\nrules:\n  - id: repot\n    examples: [{tree: {repot: due}, fires: no}]\n",
        encoding="utf-8",
    )
    result = run("rules", folder)
    assert result.exit_code == 2
    assert "FAILED repot, example 1: repot due: should not fire, but is planned" in " ".join(
        result.output.split()
    )


# Little weather.


def test_monthly_means_are_rough_on_every_date(folder: Path) -> None:
    means = "{monthly: {tmin_c: [-2, 0, 3, 7, 12, 16, 18, 18, 14, 9, 4, -1], "
    means += "tmax_c: [5, 8, 14, 18, 23, 27, 30, 29, 24, 18, 11, 6]}}"
    edit(folder / "collection.yaml", "weather: weather.csv", f"weather: {means}")
    assert run("plan", folder).exit_code == 0
    works = Calendar.from_ical((folder / "calendar" / "works.ics").read_bytes()).walk("VEVENT")
    assert works and all("twelve monthly means" in work["DESCRIPTION"] for work in works)


@pytest.mark.parametrize(("years", "basis"), [(2, {"unknown"}), (5, {"expected"})])
def test_few_years_are_said_and_fewer_are_unknown(folder: Path, years: int, basis: set[str]) -> None:
    text = weather_text(smooth_record(), years=years)
    (folder / "weather.csv").write_text(text, encoding="utf-8")
    result = run("plan", folder)
    assert result.exit_code == 0, result.output
    rows = stage_rows(folder / "calendar" / "plan.json")
    assert {row["basis"] for row in rows} == basis
    if basis == {"unknown"}:
        assert f"{years} years of the record can be used; with fewer than 3 dates are" in result.stdout
        assert {row["p50"] for row in rows} == {None}
    else:
        assert f"weather: only {years} years of the record can be used; 10 make a record" in result.stdout
        works = Calendar.from_ical((folder / "calendar" / "works.ics").read_bytes()).walk("VEVENT")
        assert works and all("5 weather years" in work["DESCRIPTION"] for work in works)


# The machine's faults: exit 1, the last good calendar stays.


def test_no_weather_to_be_had(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    run("plan", folder)
    before = files(folder / "calendar")
    edit(folder / "collection.yaml", "weather: weather.csv", "weather: {meteostat: nearest}")
    monkeypatch.setattr(
        fetch_weather, "fetch_station", lambda *args, **more: (None, ["the archive cannot be reached"])
    )
    assert failed(run("plan", folder), 1) == "the archive cannot be reached\n"
    assert files(folder / "calendar") == before


def raising(fault: BaseException, name: str) -> Callable[[pytest.MonkeyPatch], None]:
    def plant(monkeypatch: pytest.MonkeyPatch) -> None:
        def fail(*args: object, **more: object) -> None:
            raise fault

        monkeypatch.setattr(os, name, fail)

    return plant


@pytest.mark.parametrize(
    ("plant", "said"),
    [
        (raising(OSError(errno.ENOSPC, "No space left on device"), "fsync"), "No space left on device"),
        (raising(OSError(errno.EROFS, "Read-only file system"), "replace"), "Read-only file system"),
        (raising(KeyboardInterrupt(), "replace"), "Aborted!"),
        (raising(KeyboardInterrupt(), "fsync"), "Aborted!"),
    ],
    ids=["full disk", "read-only", "interrupt while moving", "interrupt while writing"],
)
def test_the_last_calendar_stays_whole(
    folder: Path, monkeypatch: pytest.MonkeyPatch, plant: Callable[[pytest.MonkeyPatch], None], said: str
) -> None:
    run("plan", folder)
    before = files(folder)
    note(folder, "- {date: 2027-03-01, tree: elm, saw: bud-swell}")
    with monkeypatch.context() as planted:
        plant(planted)
        assert said in failed(run("plan", folder), 1)
    after = files(folder)
    assert {name: after[name] for name in before} == before
    assert set(after) - set(before) == {"journal/2027.yaml"}  # nothing half written is left about
    assert run("plan", folder).exit_code == 0
    assert files(folder)["calendar/plan.json"] != before["calendar/plan.json"]


def test_a_file_where_the_calendar_folder_belongs(folder: Path) -> None:
    (folder / "calendar").write_text("not a folder", encoding="utf-8")
    said = failed(run("plan", folder), 1)
    assert "cannot write in" in said and (folder / "calendar").read_text(encoding="utf-8") == "not a folder"


def test_a_published_plan_that_cannot_be_read_is_said(folder: Path) -> None:
    run("plan", folder)
    (folder / "calendar" / "plan.json").write_text("{", encoding="utf-8")
    result = run("plan", folder)
    assert result.exit_code == 0
    assert "plan.json could not be read back: dates may move without a reason" in result.stderr
