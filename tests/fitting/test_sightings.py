"""Sightings: what is seen here, for others, without names; and others' taken in once."""

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from care_planner.cli import main
from care_planner.learning.fitting.read_records import read_records

EXAMPLE = Path(__file__).parents[2] / "examples" / "gangneung"
HEAD = "station,year,event,date,taxon,latitude,longitude,group"
OTHERS = f"""\
{HEAD}
50.80N 4.36E,2021,first_flower,2021-06-03,satsuki-azalea,50.80,4.36,late
50.80N 4.36E,2022,first_flower,2022-06-01,satsuki-azalea,50.80,4.36,
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copytree(EXAMPLE, tmp_path / "trees", ignore=shutil.ignore_patterns("calendar", "identity.txt"))
    return tmp_path / "trees"


def run(*args: object) -> Result:
    return CliRunner().invoke(main, ["sightings", *(str(arg) for arg in args)])


def test_the_place_to_two_decimals_and_no_names(folder: Path) -> None:
    result = run(folder)
    assert result.exit_code == 0, result.output
    head, *rows = result.stdout.splitlines()
    assert head == HEAD and len(rows) > 3
    assert all(row.startswith("37.75N 128.89E,") for row in rows)
    trees = [
        line.split("id:")[1].split(",")[0].strip(" }\n")
        for line in (folder / "collection.yaml").read_text(encoding="utf-8").splitlines()
        if "id:" in line
    ]
    assert trees and not any(tree in result.stdout for tree in trees if len(tree) > 3)


def test_only_what_the_journal_says(folder: Path) -> None:
    before = run(folder).stdout.splitlines()
    journal = next(iter(sorted((folder / "journal").glob("*.yaml"))))
    tree = next(
        line.split("tree:")[1].split(",")[0].strip()
        for line in journal.read_text(encoding="utf-8").splitlines()
        if "tree:" in line
    )
    with journal.open("a", encoding="utf-8") as file:
        file.write(f"- {{date: 2019-05-17, tree: {tree}, saw: first-flower}}\n")
    new = set(run(folder).stdout.splitlines()) - set(before)
    assert len(new) == 1 and ",2019,first_flower,2019-05-17," in new.pop()


def test_others_are_taken_in_once_and_written_with_ones_own(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "others.csv").write_text(OTHERS, encoding="utf-8")
    first = run(folder, "--take", tmp_path / "others.csv", "--out", tmp_path / "all.csv")
    assert first.exit_code == 0 and "2 new sightings taken in, 0 known before" in first.output
    again = run(folder, "--take", tmp_path / "others.csv")
    assert "0 new sightings taken in, 2 known before" in again.output
    assert (folder / "sightings" / "others.csv").read_text(encoding="utf-8") == OTHERS
    text = (tmp_path / "all.csv").read_text(encoding="utf-8")
    assert set(OTHERS.splitlines()[1:]) < set(text.splitlines())
    assert text == run(folder).stdout


def test_mistakes_in_others_are_all_told_and_nothing_is_taken(folder: Path, tmp_path: Path) -> None:
    bad = OTHERS.replace("2021-06-03", "3 June").replace("4.36,\n", "4.36,odd\n")
    (tmp_path / "others.csv").write_text(bad, encoding="utf-8")
    result = run(folder, "--take", tmp_path / "others.csv")
    assert result.exit_code == 2
    assert "others.csv:2: date is '3 June', not a date; 2027-03-01" in result.output
    assert "others.csv:3: group is 'odd'; early, mid, late or nothing" in result.output
    assert not (folder / "sightings").exists()


def test_fit_reads_what_was_written(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "others.csv").write_text(OTHERS.replace("satsuki-azalea", "wisteria"), encoding="utf-8")
    seen, weather = tmp_path / "all.csv", tmp_path / "weather.csv"
    run(folder, "--take", tmp_path / "others.csv", "--out", seen, "--temperature", weather)
    kept = read_records(seen, weather, seen, taxon="satsuki-azalea")
    assert {station for station, _, _ in kept.noted} == {"37.75N 128.89E"}
    assert kept.latitudes["37.75N 128.89E"] == 37.75
    assert len(kept.weather["37.75N 128.89E"].tmin_c) > 10_000
