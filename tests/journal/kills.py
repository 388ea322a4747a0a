"""Kills at random moments of `note` and `plan`, and what must hold after each.

Two hosts import the program once; each forks a child for every round, which works until it is killed.
"""

import json
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

from small_collection import noted

from care_planner.calendar.check_bytes import check_bytes
from care_planner.calendar.read_published import read_published
from care_planner.folder.read_identity import read_identity
from care_planner.journal.read_journal import read_whole_journal

PROJECT = Path(__file__).parents[2]
FIRST_DAY = "2027-03-01"
RUNS = {"note": 6.0, "plan": 1.2}  # a child works for up to so many runs of its command, as one took here
MOST = {"note": 400, "plan": 60}  # and ends by itself after so many, should nobody kill it

HOST = """
import contextlib, io, os, sys, time
from datetime import date, timedelta
from pathlib import Path
import care_planner.plan, care_planner.show.plan, care_planner.show.changes, care_planner.folder.write_plan
import filelock, care_planner.journal.write_note
from care_planner.cli import main
from care_planner.note.take import note
kind, folder, first, most = sys.argv[1], Path(sys.argv[2]), date.fromisoformat(sys.argv[3]), int(sys.argv[4])
exec(sys.argv[5])

def work(number, acknowledged):
    for again in range(most):
        if kind == "note":
            told = note(folder, ("sats-01", "sats-02"), f"note round {number} {again}", first, first, False)
            os.write(acknowledged, (told[0] + "\\n").encode())
        else:
            today = first + timedelta(days=number + again % 9)
            with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
                main(["plan", str(folder), "--today", str(today), "--out", str(folder / "calendar")],
                     standalone_mode=False)
            os.write(acknowledged, b"planned\\n")

# The first run imports, the second says how long a run takes on this machine; nobody kills these.
begun = []
acknowledged, rounds, most = os.open(folder / f"{kind}.told", os.O_WRONLY | os.O_APPEND | os.O_CREAT), most, 1
for number in (0, 1):
    begun.append(time.monotonic())
    work(number, acknowledged)
print(time.monotonic() - begun[1], flush=True)
most = rounds

for line in sys.stdin:
    child = os.fork()
    if child == 0:
        code = 1
        try:
            work(int(line), os.open(folder / f"{kind}.told", os.O_WRONLY | os.O_APPEND | os.O_CREAT))
            code = 0
        finally:
            os._exit(code)
    print(child, flush=True)
    print(os.waitpid(child, 0)[1], flush=True)
"""


class Host:
    """A process that has the program imported and forks a working child for every round."""

    def __init__(self, kind: str, folder: Path, planted: str) -> None:
        arguments = [sys.executable, "-c", HOST, kind, str(folder), FIRST_DAY, str(MOST[kind]), planted]
        self.process = subprocess.Popen(
            arguments, cwd=PROJECT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        assert self.process.stdout is not None
        self.longest_s = RUNS[kind] * float(self.process.stdout.readline())

    def start(self, number: int) -> int:
        """Let a child begin; its process id."""
        assert self.process.stdin is not None and self.process.stdout is not None
        self.process.stdin.write(f"{number}\n")
        self.process.stdin.flush()
        return int(self.process.stdout.readline())

    def ended_by(self) -> int:
        """Wait for the child; the signal that ended it, 0 where it ended by itself."""
        assert self.process.stdout is not None
        return os.WTERMSIG(int(self.process.stdout.readline()))


@contextmanager
def _hosts(folder: Path, planted: str) -> Iterator[dict[str, Host]]:
    hosts = {kind: Host(kind, folder, planted) for kind in ("note", "plan")}
    try:
        yield hosts
    finally:
        for host in hosts.values():
            host.process.communicate()


@dataclass
class Seen:
    """What was found wrong, how many kills landed, and how much was acknowledged before them."""

    faults: list[str] = field(default_factory=list)
    kills: int = 0
    notes: int = 0
    plans: int = 0
    torn: int = 0


def kill_rounds(folder: Path, rounds: int, seed: int, planted: str = "") -> Seen:
    """Kill a note and a plan at work on one folder in each round, and look at the folder after it.

    `planted` is run in the hosts before the work: a fault that the look must find.
    """
    chance, seen = random.Random(seed), Seen()
    with _hosts(folder, planted) as hosts:
        for number in range(2, rounds + 2):
            pids = {kind: host.start(number) for kind, host in hosts.items()}
            now = 0.0
            for moment, kind in sorted(
                (chance.uniform(0, host.longest_s), kind) for kind, host in hosts.items()
            ):
                time.sleep(moment - now)
                now = moment
                with suppress(ProcessLookupError):  # it has ended by itself, and does not count
                    os.kill(pids[kind], signal.SIGKILL)
                seen.kills += hosts[kind].ended_by() == signal.SIGKILL
            seen.torn += bool(read_whole_journal(folder).torn)
            seen.faults += [f"round {number}: {fault}" for fault in faults_in(folder)]
    seen.notes, seen.plans = len(_told(folder, "note")), len(_told(folder, "plan"))
    noted(folder, "maple-01", "note the last one")
    seen.faults += [f"at the end: {fault}" for fault in faults_in(folder)]
    return seen


def faults_in(folder: Path) -> Iterator[str]:
    """Acknowledged notes that are lost, files that do not parse, a calendar that is not whole."""
    journal = read_whole_journal(folder)
    yield from map(str, journal.problems)
    ids = {entry.id for entry in journal.entries}
    for line in _told(folder, "note"):
        if line.partition("(")[2].split()[0] not in ids:
            yield f"lost: {line}"
    _, problems = read_identity(folder)
    yield from map(str, problems)
    calendar = folder / "calendar"
    if not calendar.exists():
        return
    yield from map(str, read_published(calendar)[1])
    for path in sorted(calendar.rglob("[!.]*.ics")):
        yield from (f"{path.name}: {problem}" for problem in check_bytes(path.read_bytes()))
    planned = calendar / "plan.json"
    if not planned.exists():
        if _told(folder, "plan"):
            yield "plan.json is gone"
        return
    try:
        trees = {row["tree"] for row in json.loads(planned.read_bytes())["tasks"]}
    except ValueError as error:
        yield f"plan.json: {error}"
        return
    yield from (
        f"no feed of {tree}" for tree in sorted(trees) if not (calendar / f"trees/{tree}.ics").exists()
    )


def _told(folder: Path, kind: str) -> list[str]:
    """What was acknowledged. A last line without its break was not yet said in full."""
    path = folder / f"{kind}.told"
    return path.read_text(encoding="utf-8").split("\n")[:-1] if path.exists() else []
