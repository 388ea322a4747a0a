"""The table of climates is printed for any folder of weather files, and reads sensibly on two known ones."""

from pathlib import Path

import pytest

from care_planner.tools.read_climates import main

DATA = Path(__file__).parents[1] / "data"


def test_stages_works_and_the_first_and_last_of_each(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([str(DATA)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert "brussels_1976_2005.csv.gz" in lines and "utsunomiya_1976_2025.csv.gz" in lines
    told = lines[lines.index("First and last of each, northern dates") :]
    bloom = next(line for line in told if "satsuki-flowers" in line and "first-flower" in line)
    # The plain the azaleas come from flowers before Brussels does.
    assert bloom.split()[4].startswith("utsunomiya") and bloom.split()[-1].startswith("brussels")
    assert any(line.split()[:2] == ["*", "prune-after-bloom"] for line in lines)


def test_a_folder_without_latitudes_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([str(tmp_path)]) == 2
    assert capsys.readouterr().err.startswith("latitudes.csv: cannot be read")
    (tmp_path / "latitudes.csv").write_text("a.csv,north\n", encoding="utf-8")
    assert main([str(tmp_path)]) == 2
    assert "latitudes.csv:1: 'a.csv,north' is no FILE,LATITUDE; as 50.8" in capsys.readouterr().err
