"""Works laid into hours by the solver, from the command line."""

import shutil
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from care_planner.cli import main

EXAMPLE = Path(__file__).parents[2] / "examples" / "gangneung"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A small collection with an hour on Saturdays."""
    text = (EXAMPLE / "collection.yaml").read_text(encoding="utf-8")
    head = text.split("trees:\n")[0]
    tree = "  - {id: pine-09, taxon: japanese-black-pine, bench: open, age: established, condition: strong}"
    written = head.replace("days: [sat, sun]", "hours: {sat: 1}") + f"trees:\n{tree}\n"
    (tmp_path / "collection.yaml").write_text(written, encoding="utf-8")
    shutil.copy(EXAMPLE / "weather.csv.gz", tmp_path)
    return tmp_path


def test_the_solver_lays_works_where_it_is_asked_for(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    highspy = pytest.importorskip("highspy")
    asked = []
    solver = highspy.Highs

    def counted() -> object:
        asked.append(1)
        return solver()

    monkeypatch.setattr(highspy, "Highs", counted)
    plain = CliRunner().invoke(main, ["plan", str(folder), "--today", "2027-03-01"])
    assert plain.exit_code == 0 and not asked
    solved = CliRunner().invoke(main, ["plan", str(folder), "--today", "2027-03-01", "--solver"])
    assert solved.exit_code == 0 and asked


def test_without_the_extra_it_says_what_to_install(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "highspy", None)
    monkeypatch.delitem(sys.modules, "care_planner.years.hours.solve", raising=False)
    done = CliRunner().invoke(main, ["plan", str(folder), "--today", "2027-03-01", "--solver"])
    assert done.exit_code == 2 and "pip install '.[level]'" in done.output
