"""A whole day, or a weekend, noted in one step."""

from pathlib import Path

import pytest
from click.testing import CliRunner
from example_copy import A_FEW, copied

from care_planner.cli import main


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example with a plan published on 28 May."""
    made = copied(tmp_path_factory.mktemp("as-planned") / "trees", A_FEW)
    run("plan", made, "--today", "2027-05-28", "--out", made / "calendar")
    return made


def run(*words: object) -> str:
    done = CliRunner().invoke(main, [str(word) for word in words])
    assert done.exit_code == 0, done.output
    return done.output


def test_a_weekend_as_planned_is_every_work_of_it_on_its_own_day(folder: Path) -> None:
    said = run("note", folder, "all", "weekend as planned", "--date", "2027-05-29", "--today", "2027-05-31")
    lines = [line for line in said.splitlines() if line.startswith("noted on")]
    assert {line.split()[2].rstrip(":") for line in lines} == {"2027-05-29", "2027-05-30"}
    assert any("did tag-colours: sats-01, sats-02" in line for line in lines)
    assert not any("water" in line or "look" in line for line in lines)
    again = run("note", folder, "all", "done as planned", "--date", "2027-05-29", "--today", "2027-05-31")
    assert "already noted" in again and "noted on" not in again


def test_a_day_without_work_says_so(folder: Path) -> None:
    said = run("note", folder, "pine-01", "done as planned", "--date", "2027-05-27", "--today", "2027-05-31")
    assert said == "the plan has no work on 2027-05-27\n"
