"""Killed at any moment: nothing acknowledged is lost, every file parses, the last good calendar is whole."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from kills import kill_rounds
from small_collection import TODAY, journal_text, make_quick_collection, noted

from care_planner.journal.read_journal import read_whole_journal

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")

# With a planted fault the rounds end at the first one that shows it, on most machines within a few.
MOST_ROUNDS = 120

PROJECT = Path(__file__).parents[2]
LINE = "- {id: n-aaaaaaaa, date: 2027-05-23, tree: sats-01, saw: first-flower}\n"
TORN = "- {id: n-bbbbbbbb, date: 2027-05-24, tr"

# A writer that rewrites the file and acknowledges before the disk has it, as one must not be.
REWRITES = """
import time
import care_planner.note.take as command
def rewrite(folder, line, season, today, *rest):
    path = folder / "journal" / f"notes-{season}.yaml"
    path.parent.mkdir(exist_ok=True)
    before = path.read_text() if path.exists() else ""
    with path.open("w") as file:
        time.sleep(0.1)
        file.write(before + line)
    return f"journal/{path.name}", []
command.append_note = rewrite
"""
# A calendar written in its place, feed by feed.
IN_PLACE = """
import time
import care_planner.calendar.write_calendar as calendar
def in_place(stages):
    for move in (move for stage in stages for move in stage):
        if move.data is not None:
            with move.path.open("wb") as file:
                file.write(move.data[: len(move.data) // 2])
                file.flush()
                time.sleep(0.15)
                file.write(move.data[len(move.data) // 2 :])
calendar.write_stages = in_place
"""
# A server that forgets which notes it has, and that dies between writing a note and saying so.
TWICE = """
import time
import care_planner.note.take as command
import care_planner.serve.app
from care_planner.note.new_entry import NOT_SIGNED
original = command.take
def forgetful(*given, signed=NOT_SIGNED, **more):
    taken = original(*given, **more)
    time.sleep(0.2)
    return taken
command.take, command.without_known = forgetful, lambda entry, notes: (entry, [])
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_quick_collection(tmp_path / "yard")


def test_kills_of_note_plan_and_server_at_work(folder: Path) -> None:
    """A short form of `tests/benchmarks/kill_counts.py`."""
    seen = kill_rounds(folder, 6, seed=20270523)
    assert seen.faults == []
    assert min(seen.kills.values()) >= 5, "kills found their process at work"
    assert seen.told["note"] > 0 and seen.told["serve"] > 0, "there was something to lose"


def test_a_writer_that_rewrites_is_seen(folder: Path) -> None:
    faults = kill_rounds(folder, MOST_ROUNDS, 1, ["note"], REWRITES).faults
    assert any("lost: noted on" in fault for fault in faults)


def test_a_calendar_written_in_place_is_seen(folder: Path) -> None:
    faults = kill_rounds(folder, MOST_ROUNDS, 1, ["plan"], IN_PLACE).faults
    assert any(".ics: " in fault or ".json: " in fault for fault in faults)


def test_a_note_sent_again_and_taken_twice_is_seen(folder: Path) -> None:
    faults = kill_rounds(folder, MOST_ROUNDS, 1, ["serve"], TWICE).faults
    assert any("noted 2 times: serve" in fault for fault in faults)


# Kills at the moments that matter, one by one

KILLED = """
import os, sys
from datetime import date
from pathlib import Path
import care_planner.journal.write_note as module
call, use = sys.argv[2], iter(range(int(sys.argv[3])))
original = getattr(os, call)
def killed(*arguments):
    if next(use, None) is None:
        if call == "write":
            original(arguments[0], arguments[1][: len(arguments[1]) // 2])
        os._exit(9)
    return original(*arguments)
setattr(module.os, call, killed)
module.append_note(Path(sys.argv[1]), sys.argv[4], 2027, date(2027, 7, 15))
"""


def killed_at(folder: Path, call: str, use: int, line: str) -> None:
    arguments = [sys.executable, "-c", KILLED, str(folder), call, str(use), line]
    assert subprocess.run(arguments, cwd=PROJECT).returncode == 9


@pytest.mark.parametrize(
    ("call", "use"), [("write", 0), ("fsync", 0), ("fsync", 1), ("open", 0), ("open", 1)]
)
def test_killed_while_a_note_is_written(folder: Path, call: str, use: int) -> None:
    (folder / "journal").mkdir()
    (folder / "journal" / "notes-2026.yaml").write_text(LINE)
    killed_at(folder, call, use, LINE.replace("-a", "-c"))
    journal = read_whole_journal(folder)
    assert journal.problems == [] and "n-aaaaaaaa" in {entry.id for entry in journal.entries}
    assert bool(journal.torn) == (call == "write")
    noted(folder, "sats-01", "not-yet half-open")
    journal = read_whole_journal(folder)
    assert journal.problems == [] and journal.torn == () and len(journal.entries) >= 2


@pytest.mark.parametrize("use", [0, 1, 2])
def test_killed_while_a_torn_line_is_set_aside(folder: Path, use: int) -> None:
    (folder / "journal").mkdir()
    (folder / "journal" / "notes-2027.yaml").write_text(LINE + TORN)
    killed_at(folder, "fsync", use, LINE.replace("-a", "-c"))
    aside = (folder / "journal" / f"torn-{TODAY}.txt").read_text()
    assert TORN in aside or TORN in journal_text(folder)
    noted(folder, "sats-01", "not-yet half-open")
    assert TORN in (folder / "journal" / f"torn-{TODAY}.txt").read_text()
    assert "n-aaaaaaaa" in {entry.id for entry in read_whole_journal(folder).entries}
