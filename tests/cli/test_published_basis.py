"""A record that shrank, an identity that was lost: the published calendar stays, and the cause is said."""

import gzip
import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from example_copy import copied

from care_planner.cli import main

DAY = "2027-03-01"


def run(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The example with one tree, planned and published."""
    trees = copied(tmp_path / "trees", ("sats-01",))
    made = run("plan", trees, "--today", DAY, "--out", trees / "calendar")
    assert made.exit_code == 0, made.output
    return trees


def calendar(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted((folder / "calendar").rglob("*"))
        if path.is_file() and "lock" not in path.name
    }


def keep_last_years(folder: Path, years: int) -> None:
    """Cut the weather file to its last years."""
    path = folder / "weather.csv.gz"
    lines = gzip.decompress(path.read_bytes()).decode().splitlines(keepends=True)
    head = next(n for n, line in enumerate(lines) if re.match(r"\d{4}-", line))
    kept = [line for line in lines[head:] if line >= f"{2024 - years}-01-01"]
    path.write_bytes(gzip.compress("".join([*lines[:head], *kept]).encode()))


@pytest.mark.parametrize("years", [2, 20])
def test_a_record_that_shrank_leaves_the_old_calendar(folder: Path, years: int) -> None:
    before = calendar(folder)
    keep_last_years(folder, years)
    for command in (("plan", folder, "--today", DAY, "--out", folder / "calendar"), ("check", folder)):
        told = run(*command)
        assert told.exit_code == 2
        first = told.output.splitlines()[0]
        assert first.startswith(
            f"weather: the weather has become too short: {years} years can be used, 33 stood"
        )
        assert "--fewer-years" in told.output
    assert calendar(folder) == before


def test_fewer_years_can_be_meant(folder: Path) -> None:
    keep_last_years(folder, 20)
    told = run("plan", folder, "--today", DAY, "--out", folder / "calendar", "--fewer-years")
    assert told.exit_code == 0, told.output
    assert json.loads((folder / "calendar" / "plan.json").read_bytes())["weather_years"] == 20
    assert run("check", folder).exit_code == 0


def test_a_lost_identity_is_restored_from_what_was_published(folder: Path) -> None:
    before = calendar(folder)
    identity = (folder / "identity.txt").read_text(encoding="utf-8")
    (folder / "identity.txt").unlink()
    told = run("plan", folder, "--today", DAY, "--out", folder / "calendar")
    assert told.exit_code == 0, told.output
    assert "identity.txt was missing: restored from the published plan" in told.output
    assert (folder / "identity.txt").read_text(encoding="utf-8") == identity
    assert calendar(folder) == before


def test_a_lost_identity_that_nothing_tells_is_asked_about(folder: Path) -> None:
    path = folder / "calendar" / "plan.json"
    path.write_text(re.sub(r'"identity": "[^"]*",\n', "", path.read_text(encoding="utf-8")), encoding="utf-8")
    before = calendar(folder)
    (folder / "identity.txt").unlink()
    told = run("plan", folder, "--today", DAY, "--out", folder / "calendar")
    assert told.exit_code == 2
    assert "identity.txt: is missing beside a published calendar" in told.output
    assert not (folder / "identity.txt").exists()
    assert calendar(folder) == before
