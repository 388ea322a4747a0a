"""A plan made from older files never takes the place of a newer one, and no plan is made by a wrong clock."""

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from click.testing import CliRunner

from care_planner.calendar.faults import CannotWrite
from care_planner.calendar.write_calendar import HeldFolder
from care_planner.cli import main
from care_planner.folder.write_fresh_plan import FREE_TRIES, write_fresh_plan
from care_planner.serve.clock import Clock
from care_planner.serve.refresh import refresh
from care_planner.years.previous import PreviousPlan

COLLECTION = """\
site:
  name: Yard
  latitude: 50.8
  longitude: 4.4
  timezone: Europe/Brussels
  weather:
    monthly:
      tmin_c: [0, 0, 2, 4, 8, 11, 13, 13, 10, 7, 3, 1]
      tmax_c: [6, 7, 11, 15, 19, 22, 24, 24, 20, 15, 10, 6]
benches: {open: {}}
trees:
  - {id: maple-01, taxon: japanese-maple, bench: open, age: young}
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "yard" / "journal").mkdir(parents=True)
    (tmp_path / "yard" / "collection.yaml").write_text(COLLECTION, encoding="utf-8")
    return tmp_path / "yard"


def note(folder: Path, words: str) -> None:
    with (folder / "journal" / "mine.yaml").open("a", encoding="utf-8") as file:
        file.write(f"- {{date: 2027-03-01, tree: maple-01, note: {words}}}\n")


def read(folder: Path) -> str:
    path = folder / "journal" / "mine.yaml"
    return path.read_text(encoding="utf-8") if path.exists() else ""


def written(held: HeldFolder, made: str) -> str:
    (held.path / "plan.json").write_text(json.dumps(made), encoding="utf-8")
    return made


def test_a_note_that_came_while_planning_is_planned_with(folder: Path) -> None:
    plans: list[str] = []

    def made(previous: PreviousPlan, told: list[str]) -> str:
        plans.append(read(folder))
        if len(plans) == 1:
            note(folder, "came-between")
        return plans[-1]

    assert "came-between" in write_fresh_plan(folder, folder / "calendar", made, written)
    assert len(plans) == 2


def test_an_older_plan_does_not_overwrite_a_newer_one(folder: Path) -> None:
    """Another program notes, plans and writes while this one is still planning from what it had read."""

    def made(previous: PreviousPlan, told: list[str]) -> str:
        known = read(folder)
        if not known:
            note(folder, "newer")
            write_fresh_plan(folder, folder / "calendar", lambda *_: read(folder), written)
        return known

    write_fresh_plan(folder, folder / "calendar", made, written)
    assert "newer" in json.loads((folder / "calendar" / "plan.json").read_text(encoding="utf-8"))


def test_where_notes_never_stop_a_plan_is_written_all_the_same(folder: Path) -> None:
    plans: list[str] = []

    def made(previous: PreviousPlan, told: list[str]) -> str:
        plans.append(read(folder))
        note(folder, f"number-{len(plans)}")
        return plans[-1]

    assert f"number-{FREE_TRIES}" in write_fresh_plan(folder, folder / "calendar", made, written)
    assert len(plans) == FREE_TRIES + 1


def clock_at(day: date) -> Clock:
    return lambda zone: datetime(day.year, day.month, day.day, 12, tzinfo=UTC).astimezone(ZoneInfo(zone))


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (date(1970, 1, 1), "the clock says 1970-01-01, which is before this program was written"),
        (date(2027, 3, 1), "the clock says 2027-03-01, but the plan that stands is of 2031-03-01: set the"),
        (date(2061, 3, 1), "the clock says 2061-03-01, but nothing here is later than 2031-03-01: set the"),
    ],
)  # fmt: skip
def test_a_clock_that_is_off_writes_nothing_over_a_live_calendar(folder: Path, day: date, said: str) -> None:
    note(folder, "something")
    refresh(folder, clock_at(date(2031, 3, 1)))
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    with pytest.raises(CannotWrite, match=said):
        refresh(folder, clock_at(day))
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before


def test_a_clock_a_little_off_is_believed(folder: Path) -> None:
    refresh(folder, clock_at(date(2031, 3, 1)))
    refresh(folder, clock_at(date(2031, 3, 1) - timedelta(days=30)))


def test_whoever_is_sure_of_the_day_says_it(folder: Path) -> None:
    out = str(folder / "calendar")
    for day in ("2061-03-01", "2031-03-01"):
        done = CliRunner().invoke(main, ["plan", str(folder), "--today", day, "--out", out])
        assert done.exit_code == 0, done.output
    done = CliRunner().invoke(main, ["plan", str(folder)])  # today the machine's clock is years before that
    assert done.exit_code == 1 and done.output.startswith("nothing was planned: the clock says 20")


def test_what_a_reading_fetched_and_said_is_told_though_the_plan_is_made_anew(folder: Path) -> None:
    """A fetch changes the store, which the plan is made of; the second reading asks and says nothing."""
    text = (folder / "collection.yaml").read_text(encoding="utf-8")
    start, end = text.index("  weather:"), text.index("benches:")
    garden = "  weather: {growing: garden.csv}\n"
    (folder / "collection.yaml").write_text(text[:start] + garden + text[end:], encoding="utf-8")
    days = [date(2025, 1, 1) + timedelta(n) for n in range(700)]
    rows = [f"{day},{-2 + n % 7},{9 + n % 5}\n" for n, day in enumerate(days)]
    rows.insert(3, "2025-01-03,x,9\n")
    (folder / "garden.csv").write_text("date,tmin_c,tmax_c\n" + "".join(rows), encoding="utf-8")
    told = "garden.csv:5: tmin_c is 'x', not a number"
    done = CliRunner().invoke(
        main, ["plan", str(folder), "--today", "2027-03-01", "--out", str(folder / "out")]
    )
    assert done.exit_code == 0, done.output
    assert done.stderr.count(told) == 1 and "garden.csv: 700 new days" in done.stderr
    (folder / "weather" / "growing" / "garden-csv.csv").unlink()
    messages = refresh(folder, clock_at(date(2027, 3, 1))).messages
    assert sum(message.startswith(told) for message in messages) == 1
    assert "garden.csv: 700 new days" in messages
