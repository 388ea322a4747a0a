"""Kills at random moments of `note`, `plan` and a server that notes, and what must hold after each."""

import json
import random
import signal
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from small_collection import noted

from care_planner.calendar.check_bytes import check_bytes
from care_planner.calendar.read_published import read_published
from care_planner.folder.read_identity import read_identity
from care_planner.journal.read_journal import Journal, read_whole_journal
from care_planner.serve.share_links import share_add

PROJECT = Path(__file__).parents[2]
HOST = Path(__file__).parent / "killed_work.py"
# A child works for up to so many runs of its command, as one took here, before it is killed.
RUNS = {"note": 6.0, "plan": 1.2, "serve": 2.5}
KINDS = tuple(RUNS)


class Host:
    """A process that has the program imported, forks a working child for every round and kills it."""

    def __init__(self, kind: str, folder: Path, planted: str) -> None:
        arguments = [sys.executable, str(HOST), kind, str(folder), planted]
        self.process = subprocess.Popen(
            arguments, cwd=PROJECT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        self.longest_s = 0.0

    def ready(self, kind: str) -> None:
        """Wait until it has tried how long a run takes."""
        assert self.process.stdout is not None
        self.longest_s = RUNS[kind] * float(self.process.stdout.readline())

    def start(self, number: int, part: float) -> None:
        """Let a child begin, to be killed after a part of the longest time."""
        assert self.process.stdin is not None
        self.process.stdin.write(f"{number} {part * self.longest_s}\n")
        self.process.stdin.flush()

    def ended_by(self) -> int:
        """Wait for the child; the signal that ended it, 0 where it had ended by itself."""
        assert self.process.stdout is not None
        return int(self.process.stdout.readline())


@contextmanager
def _hosts(folder: Path, kinds: Sequence[str], planted: str) -> Iterator[dict[str, Host]]:
    hosts = {kind: Host(kind, folder, planted) for kind in kinds}
    try:
        for kind, host in hosts.items():
            host.ready(kind)
        yield hosts
    finally:
        for host in hosts.values():
            host.process.communicate()


@dataclass
class Seen:
    """What was found wrong, how many kills of each kind landed, and how much was acknowledged before them."""

    faults: list[str] = field(default_factory=list)
    kills: Counter[str] = field(default_factory=Counter)
    told: Counter[str] = field(default_factory=Counter)
    torn: int = 0


def kill_rounds(
    folder: Path, rounds: int, seed: int, kinds: Sequence[str] = KINDS, planted: str = ""
) -> Seen:
    """Kill one of each kind at work on one folder in each round, and look at the folder after it.

    The moments of a kind lie evenly over its work, in a random order. `planted` is run in the hosts before
    the work: a fault that the look must find; then the first fault ends it.
    """
    chance, seen = random.Random(seed), Seen()
    parts = {kind: chance.sample(range(rounds), rounds) for kind in kinds}
    _make_a_link(folder)
    with _hosts(folder, kinds, planted) as hosts:
        for number in range(rounds):
            for kind, host in hosts.items():
                host.start(number + 2, (parts[kind][number] + chance.random()) / rounds)
            for kind, host in hosts.items():
                seen.kills[kind] += host.ended_by() == signal.SIGKILL
            seen.torn += bool(read_whole_journal(folder).torn)
            seen.faults += [f"round {number}: {fault}" for fault in faults_in(folder)]
            if planted and seen.faults:
                return seen
    seen.told = Counter({kind: len(_told(folder, kind)) for kind in kinds})
    noted(folder, "maple-01", "note the last one")
    seen.faults += [f"at the end: {fault}" for fault in faults_in(folder)]
    return seen


def _make_a_link(folder: Path) -> None:
    wanted = {"tree": None, "bench": None, "taxon": None, "work": None}
    lines = share_add(folder, "phone", wanted, True, "http://x", date(2027, 3, 1))  # type: ignore[arg-type]
    address = next(line.strip() for line in lines if "http://x" in line)
    (folder / "link.txt").write_text(address.removeprefix("http://x"), encoding="utf-8")


def faults_in(folder: Path) -> Iterator[str]:
    """Notes lost or there twice, files that do not parse, a calendar that is not whole."""
    journal = read_whole_journal(folder)
    yield from map(str, journal.problems)
    yield from _faults_of_notes(folder, journal)
    _, problems = read_identity(folder)
    yield from map(str, problems)
    for path in sorted((folder / "served").rglob("[!.]*.ics")):
        yield from (f"served {path.name}: {problem}" for problem in check_bytes(path.read_bytes()))
    calendar = folder / "calendar"
    if calendar.exists():
        yield from map(str, read_published(calendar)[1])
        for path in sorted(calendar.rglob("[!.]*.ics")):
            yield from (f"{path.name}: {problem}" for problem in check_bytes(path.read_bytes()))
        yield from _faults_of_plan(folder, calendar)


def _faults_of_notes(folder: Path, journal: Journal) -> Iterator[str]:
    ids = {entry.id for entry in journal.entries}
    for line in _told(folder, "note"):
        if line.partition("(")[2].split()[0] not in ids:
            yield f"lost: {line}"
    lines = {(entry.file, entry.line, entry.note) for entry in journal.entries}
    texts = Counter(text for _, _, text in lines)
    yield from (f"lost: {words}" for words in _told(folder, "serve") if words not in texts)
    yield from (f"noted {times} times: {text}" for text, times in texts.items() if times > 1)


def _faults_of_plan(folder: Path, calendar: Path) -> Iterator[str]:
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
