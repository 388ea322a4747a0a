"""The commands as a person runs them, on a copy of the example."""

import csv
import io
import json
import os
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from example_copy import A_FEW, copied
from icalendar import Calendar
from plan_rows import stage_rows, task_rows

from care_planner.calendar.identity import uid
from care_planner.cli import main
from care_planner.folder.read_identity import read_identity

DAY = "2027-03-01"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return copied(tmp_path / "trees", A_FEW)


def run(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


def files(out: Path) -> dict[str, bytes]:
    return {str(p.relative_to(out)): p.read_bytes() for p in sorted(out.rglob("*")) if p.is_file()}


def test_plan_writes_and_again_changes_no_byte(folder: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    first = run("plan", folder, "--today", DAY, "--out", out)
    assert first.exit_code == 0, first.output
    before = files(out)
    assert run("plan", folder, "--today", DAY, "--out", out).exit_code == 0
    assert files(out) == before
    plan = json.loads(before["plan.json"])
    assert (plan["today"], plan["season"], plan["until"]) == (DAY, 2027, "2028-12-31")
    assert {row[1] for rows in plan["stages"].values() for row in rows} == {2027, 2028}
    days = [day for task in plan["tasks"] for _, day, *_ in task["days"]]
    assert all(DAY <= day <= plan["until"] for day in days)
    assert "BEGIN:VEVENT" in before["all.ics"].decode()


def test_every_work_of_the_plan_is_in_the_feeds(folder: Path, tmp_path: Path) -> None:
    """Nothing is hidden by folding: works under their UIDs in their tree's feed, and in the feed for all."""
    run("plan", folder, "--today", DAY, "--out", tmp_path / "out")
    rows = csv.DictReader(io.StringIO(run("table", folder, "tasks", "--today", DAY).output))
    feeds = files(tmp_path / "out")
    whole = Calendar.from_ical(feeds["all.ics"]).walk("VEVENT")
    identity, _ = read_identity(folder)
    assert identity is not None
    told = 0
    for row in rows:
        if row["asked"]:
            titles = [str(event["SUMMARY"]) for event in whole if str(event.start) == row["day"]]
            short = row["title"].split(", ")[0]
            assert any(title.startswith(f"Done? {short}") for title in titles), row
        if row["asked"] or row["way"] != "work":
            continue
        told += 1
        key = "/".join((row["tree"], row["rule"], row["season"], row["occurrence"], "work"))
        own = Calendar.from_ical(feeds[f"trees/{row['tree']}.ics"]).walk("VEVENT")
        # Told under its own UID, or within the entry of what it is done together with.
        assert any(
            str(event["UID"]) == uid(identity, key) or row["title"] in event["DESCRIPTION"] for event in own
        ), row
        day = date.fromisoformat(row["day"])
        texts = [str(event["DESCRIPTION"]) for event in whole if event.start == day]
        assert any(row["tree"] in text for text in texts), row
    assert told > 10


def test_provisional_work_has_a_look_before_it(folder: Path, tmp_path: Path) -> None:
    run("plan", folder, "--today", DAY, "--out", tmp_path / "out")
    tasks = task_rows(tmp_path / "out" / "plan.json")
    provisional = [task for task in tasks if task["kind"] == "work" and not task["firm"]]
    assert provisional
    for task in provisional:
        assert any(
            look["kind"] == "look" and look["tree"] == task["tree"] and look["date"] <= task["date"]
            for look in tasks
            if look["season"] == task["season"]
        ), task


def test_a_day_without_a_folder_only_prints(folder: Path) -> None:
    before = files(folder)
    result = run("plan", folder, "--today", DAY)
    assert result.exit_code == 0 and "This weekend" in result.output
    assert files(folder) == before


@pytest.mark.parametrize(
    "args",
    [
        ("plan", "--today", DAY),
        ("plan", "--today", DAY, "--all"),
        ("check",),
        ("frost",),
        ("rules",),
        ("why", "sats-02", "prune-after-bloom", "--today", DAY),
        ("why", "sats-03", "prune-after-bloom", "--today", DAY),
        ("why", "pine-01", "wire-check", "--today", DAY),
    ],
    ids=" ".join,
)
def test_eighty_columns(folder: Path, args: tuple[str, ...]) -> None:
    result = run(args[0], folder, *args[1:])
    assert result.exit_code == 0, result.output
    assert [line for line in result.output.splitlines() if len(line) > 80] == []


def test_why_names_every_link(folder: Path) -> None:
    text = run("why", folder, "sats-02", "prune-after-bloom", "--today", DAY).output
    rule = "Rule: prune-after-bloom of the pack satsuki-azalea"
    for link in ("The time for it: ", rule, "Source:", "Stage: End of"):
        assert link in text
    assert "33 weather years (1991 to 2023)" in " ".join(text.split())
    assert "saw first-flower (journal/2026.yaml:2)" in " ".join(text.split())


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            ("bench: open, winter_bench", "bench: opn, winter_bench"),
            "bench 'opn' is unknown; did you mean open?",
        ),
        (("taxon: satsuki-azalea", "taxon: satsuki-azale"), "unknown taxon 'satsuki-azale'; did you mean"),
        (
            ("age: established", "age: strong"),
            "age is 'strong', which is a condition; allowed: young, established",
        ),
        (("latitude: 37.75", "latitude: nan"), "site.latitude is 'nan', not a number"),
        (("weather: weather.csv.gz", "weather: ../x.csv"), "leads out of the folder"),
    ],
)
def test_a_mistake_is_told_with_its_line_and_nothing_is_written(
    folder: Path, change: tuple[str, str], said: str
) -> None:
    path = folder / "collection.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace(*change, 1), encoding="utf-8")
    result = run("plan", folder)
    assert result.exit_code == 2
    assert said in result.output and "collection.yaml:" in result.output and "Traceback" not in result.output
    assert not (folder / "calendar").exists()


def test_a_missing_folder(tmp_path: Path) -> None:
    result = run("plan", tmp_path / "none")
    assert result.exit_code == 2 and "no such folder; make one with: care-planner start" in result.output


def test_a_note_of_tomorrow_is_a_mistake(folder: Path) -> None:
    (folder / "journal" / "x.yaml").write_text("- {date: 2199-01-01, tree: sats-01, saw: bud-swell}\n")
    result = run("check", folder)
    assert result.exit_code == 2 and "journal/x.yaml:1: dated 2199-01-01" in result.output


def test_start_then_plan(tmp_path: Path) -> None:
    assert run("start", tmp_path / "new").exit_code == 0
    assert run("check", tmp_path / "new").exit_code == 0
    assert run("plan", tmp_path / "new").exit_code == 0
    assert (tmp_path / "new" / "calendar" / "all.ics").exists()
    assert run("start", tmp_path / "new").exit_code == 2


def test_a_record_of_one_year_is_unknown_and_no_mistake(folder: Path, tmp_path: Path) -> None:
    first = date(2022, 1, 1).toordinal()
    rows = [f"{date.fromordinal(first + n)},{n % 9}.{n % 7},{n % 9 + 9}.{n % 5}" for n in range(365)]
    (folder / "one.csv").write_text("date,tmin_c,tmax_c\n" + "\n".join(rows) + "\n")
    path = folder / "collection.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("weather.csv.gz", "one.csv"), encoding="utf-8")
    result = run("plan", folder, "--today", DAY, "--out", tmp_path / "out")
    assert result.exit_code == 0, result.output
    stages = stage_rows(tmp_path / "out" / "plan.json")
    assert {row["p50"] for row in stages if row["basis"] != "observed"} == {None}


def test_the_last_good_calendar_stays_when_the_disk_is_full(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    run("plan", folder, "--today", DAY, "--out", out)
    before = files(out)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    result = run("plan", folder, "--today", "2027-04-01", "--out", out)
    monkeypatch.undo()
    assert result.exit_code == 1 and "No space left on device" in result.output
    assert files(out) == before


def test_help_loads_nothing_heavy() -> None:
    heavy = ("numpy", "pandas", "meteostat", "pydantic", "yaml", "flask")
    code = f"import sys, care_planner.cli; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
