"""What `check` finds before `plan` would die of it, and what reaches a terminal harmless."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from care_planner.cli import main
from care_planner.climate.read_weather import MOST_BYTES, read_weather_file
from care_planner.folder.write_identity import ensure_identity
from care_planner.typed_yaml.notation import MOST_PROBLEMS, unprintable
from care_planner.words.harmless import harmless

PROJECT = Path(__file__).parents[2]
COLLECTION = """\
site:
  name: {name}
  latitude: 50.8
  longitude: 4.4
  timezone: Europe/Brussels
  weather:
    monthly:
      tmin_c: [0, 0, 2, 4, 8, 11, 13, 13, 10, 7, 3, 1]
      tmax_c: [6, 7, 11, 15, 19, 22, 24, 24, 20, 15, 10, 6]
benches: {{open: {{}}}}
trees:
  - {{id: maple-01, taxon: japanese-maple, bench: open, age: young}}
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "yard").mkdir()
    (tmp_path / "yard" / "collection.yaml").write_text(COLLECTION.format(name="Yard"), encoding="utf-8")
    return tmp_path / "yard"


def run(*words: str, **options: str) -> subprocess.CompletedProcess[bytes]:
    environment = {**os.environ, "PYTHONPATH": str(PROJECT), **options}
    command = [sys.executable, "-m", "care_planner.cli", *words]
    return subprocess.run(command, env=environment, capture_output=True, timeout=120)


@pytest.mark.parametrize("hours", ["0.001", "1.0001", "0", "721"])
def test_an_alarm_is_whole_minutes(folder: Path, hours: str) -> None:
    with (folder / "collection.yaml").open("a", encoding="utf-8") as file:
        file.write(f"calendar: {{alarm_hours_before: {hours}}}\n")
    done = CliRunner().invoke(main, ["check", str(folder)])
    assert done.exit_code == 2 and "calendar.alarm_hours_before" in done.output


def test_an_identity_that_leads_nowhere_is_told(folder: Path) -> None:
    (folder / "identity.txt").symlink_to(folder / "nowhere")
    done = CliRunner().invoke(
        main, ["plan", str(folder), "--today", "2027-03-01", "--out", str(folder / "out")]
    )
    assert done.exit_code == 2 and done.output.startswith("identity.txt: a link that leads nowhere; restore")
    assert ensure_identity(folder)[0] is None and not (folder / "nowhere").exists()


@pytest.mark.parametrize(
    "name", ["days.csv", "calendar/plan.json", "calendar/.published.json", "identity.txt"]
)
def test_a_pipe_in_place_of_a_file_is_not_waited_for(folder: Path, name: str) -> None:
    (folder / "calendar").mkdir()
    text = (folder / "collection.yaml").read_text(encoding="utf-8")
    if name == "days.csv":
        before, _, after = text.partition("  weather:\n")
        text = f"{before}  weather: days.csv\n{after[after.index('benches') :]}"
        (folder / "collection.yaml").write_text(text, encoding="utf-8")
    os.mkfifo(folder / name)
    done = run("plan", str(folder), "--today", "2027-03-01", "--out", str(folder / "calendar"))
    assert done.returncode in (0, 1, 2) and b"Traceback" not in done.stderr
    if name != "calendar/plan.json":  # without the last plan the days may move, and that is said
        assert done.returncode in (1, 2)
    assert b"not a file" in done.stderr or b"could not be read back" in done.stderr


def test_a_deeply_nested_plan_is_passed_over(folder: Path) -> None:
    (folder / "calendar").mkdir()
    (folder / "calendar" / "plan.json").write_text("[" * 200_000, encoding="utf-8")
    done = CliRunner().invoke(main, ["plan", str(folder), "--today", "2027-03-01"])
    assert done.exit_code == 0 and "plan.json could not be read back" in done.output


@pytest.mark.parametrize("encoding", ["utf-8", "cp1252", "ascii"])
def test_escape_sequences_and_other_alphabets_reach_any_terminal_harmless(
    folder: Path, encoding: str
) -> None:
    (folder / "collection.yaml").write_text(COLLECTION.format(name="木 yard"), encoding="utf-8")
    done = run("plan", str(folder), "--today", "2027-03-01", PYTHONIOENCODING=encoding)
    assert done.returncode == 0 and b"Traceback" not in done.stderr, done.stderr
    assert ("木 yard" if encoding == "utf-8" else r"\u6728 yard").encode() in done.stdout
    (folder / "journal").mkdir()
    (folder / "journal" / "\x1b[31mred.yaml").write_text("- {date: never}\n", encoding="utf-8")
    done = run("check", str(folder), PYTHONIOENCODING=encoding)
    assert done.returncode == 2 and b"\x1b" not in done.stderr and rb"\x1b[31mred.yaml:1: " in done.stderr


def test_every_control_character_is_shown_as_an_escape() -> None:
    assert harmless("a\x00b\tc\n\x9b\u2066\u202e") == "a\\x00b\tc\n\\x9b\\u2066\\u202e"
    assert harmless("plain 木") == "plain 木"


def test_only_one_place_speaks_to_the_terminal() -> None:
    for path in sorted((PROJECT / "care_planner" / "commands").glob("*.py")):
        if path.name != "tools.py":
            assert "click.echo" not in path.read_text(encoding="utf-8"), path.name


def test_a_host_that_is_none_is_told(folder: Path) -> None:
    done = run("serve", str(folder), "--host", "nosuch.invalid")
    assert done.returncode == 2
    assert b"--host: 'nosuch.invalid' is no address of this machine" in done.stderr


def test_control_characters_are_counted_only_as_far_as_they_are_told() -> None:
    import tracemalloc

    text = "\x01" * 4_000_000
    tracemalloc.start()
    assert len(unprintable(text, "x")) == MOST_PROBLEMS
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 10_000_000


def test_a_weather_file_is_bounded(tmp_path: Path) -> None:
    path = tmp_path / "days.csv"
    path.write_bytes(b"date,tmin_c,tmax_c\n" + b"2020-01-01,1,2\n" * (MOST_BYTES // 15 + 1))
    _, problems = read_weather_file(path, "days.csv")
    assert [str(one) for one in problems] == [
        "days.csv: is too large for a weather record; allowed: at most 12 MB"
    ]
