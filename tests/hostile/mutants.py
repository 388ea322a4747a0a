"""Files of a collection, broken in ways that people, editors and disks break them.

Everything is drawn from a seed, so a find can be made again.
"""

import faulthandler
import random
import sys
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cache
from math import cos, pi
from pathlib import Path
from typing import ClassVar
from unittest.mock import patch

from click.testing import CliRunner, Result

from care_planner.cli import main
from care_planner.rulebook import read_packs

EXAMPLE = Path(__file__).parents[2] / "examples" / "gangneung"
TODAY = "2027-03-01"
SLOW_S = 10.0  # of the processor, so that a busy machine is not blamed on the program
HANGS_S = 300.0  # whatever waits so long ends the run, and says where it waited

COLLECTION = """\
site:
  name: Yard
  latitude: {latitude}
  longitude: {longitude}
  timezone: {zone}
  weather: {weather}
benches: {{open: {{}}, shed: {{floor_c: 2, vent_c: 15}}}}
calendar: {{alarm_hours_before: 15}}
trees:
  - {{id: maple-01, taxon: japanese-maple, bench: open, age: young, winter_bench: shed}}
  - {{id: sats-01, taxon: satsuki-azalea, bench: open, age: established, goal: flowers}}
"""
JOURNAL = """\
- {id: n-aaaaaaaa, date: 2026-05-23, tree: sats-01, saw: first-flower}
- {id: n-bbbbbbbb, date: 2026-06-01, tree: [sats-01, maple-01], note: "木 looked well"}
- {date: 2026-03-28, tree: maple-01, did: repot}
- {date: 2026-05-30, tree: sats-01, saw: {open: 40%}}
- {id: slip, date: 2026-07-03, tree: sats-01, condition: weak}
- {date: 2026-07-04, takes_back: slip}
"""
OWN = """\
lays_over: container-tree
rules:
  - id: turn-pots
    title: Turn the pots
    kind: light
    what: Give every pot a quarter turn.
    why: A crown that always faces one way grows to that side.
    source: our own practice
    minutes: {small: 1, large: 2}
    opens: {stage: flush}
    closes: {stage: end-of-growth}
    repeat: {every_days: 28}
    choose: early
    examples:
      - {tree: {}, fires: true}
"""


def weather_csv() -> str:
    """Three years of days, made up: 10 degC in the mean, 12 more or less over the year."""
    rows = ["# made up", "date,tmin_c,tmax_c"]
    for number in range(3 * 365):
        mean = 10 - 12 * cos(2 * pi * number / 365.25)
        rows.append(f"{date(2023, 1, 1) + timedelta(days=number)},{mean - 5:.1f},{mean + 5:.1f}")
    return "\n".join(rows) + "\n"


def make_collection(folder: Path, weather: str = "days.csv") -> Path:
    """A small collection with every kind of file in it."""
    for name in ("journal", "rules"):
        (folder / name).mkdir(parents=True)
    place = {"latitude": "37.75", "longitude": "128.9", "zone": "Asia/Seoul", "weather": weather}
    (folder / "collection.yaml").write_text(COLLECTION.format(**place), encoding="utf-8")
    (folder / "journal" / "mine.yaml").write_text(JOURNAL, encoding="utf-8")
    (folder / "rules" / "own.yaml").write_text(OWN, encoding="utf-8")
    (folder / "days.csv").write_text(weather_csv(), encoding="utf-8")
    (folder / "identity.txt").write_text("0e2b9a04-5c39-4d0c-9f4b-6f5ad7b0c1aa\n", encoding="utf-8")
    return folder


@dataclass
class Found:
    """What a run of hostile inputs came to."""

    tried: int = 0
    refused: int = 0
    planned: int = 0
    slowest_s: float = 0.0
    tracebacks: int = 0
    slow: int = 0
    faults: list[str] = field(default_factory=list)
    HEAD: ClassVar = "  tried planned refused  slowest  tracebacks  over 10 s  faults"

    def row(self) -> str:
        """One row of a table under `HEAD`."""
        return (
            f"{self.tried:>7} {self.planned:>7} {self.refused:>7} {self.slowest_s:>6.1f} s "
            f"{self.tracebacks:>11} {self.slow:>10} {len(self.faults):>7}"
        )

    def add(self, other: "Found") -> None:
        """Count another run's with this one's."""
        self.tried, self.planned = self.tried + other.tried, self.planned + other.planned
        self.refused, self.slow = self.refused + other.refused, self.slow + other.slow
        self.tracebacks += other.tracebacks
        self.slowest_s = max(self.slowest_s, other.slowest_s)
        self.faults += other.faults

    def looks_at(self, done: Result, what: str, command: str) -> None:
        """Note what is wrong with the answer of a command."""
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            last = traceback.format_exception(done.exception)[-3:]
            self.tracebacks += 1
            self.faults.append(f"{command}: {type(done.exception).__name__}: {what}\n{''.join(last)}")
        elif done.exit_code not in (0, 1, 2):
            self.faults.append(f"{command}: exit code {done.exit_code}: {what}")
        elif done.exit_code and not done.output.strip():
            self.faults.append(f"{command}: refused without a word: {what}")


Change = Callable[[random.Random, bytes], bytes]


def _cut(chance: random.Random, data: bytes) -> bytes:
    return data[: chance.randrange(len(data) + 1)]


def _flip(chance: random.Random, data: bytes) -> bytes:
    changed = bytearray(data)
    for _ in range(chance.randint(1, 4)):
        if changed:
            changed[chance.randrange(len(changed))] = chance.randrange(256)
    return bytes(changed)


def _doubled(chance: random.Random, data: bytes) -> bytes:
    lines = data.split(b"\n")
    at = chance.randrange(len(lines))
    return b"\n".join([*lines[:at], lines[at], *lines[at:]])


def _without_a_line(chance: random.Random, data: bytes) -> bytes:
    lines = data.split(b"\n")
    del lines[chance.randrange(len(lines))]
    return b"\n".join(lines)


def _moved(chance: random.Random, data: bytes) -> bytes:
    lines = data.split(b"\n")
    at = chance.randrange(len(lines))
    lines[at] = b" " * chance.randint(1, 5) + lines[at] if chance.random() < 0.5 else lines[at].lstrip()
    return b"\n".join(lines)


_WORDS = [
    *(b"", b"~", b"null", b"no", b"[]", b"{}", b"[[[[", b"-1", b"0", b"1e308", b"1e-308", b".nan", b".inf"),
    *(b"99999999999999999999", b"2027-02-30", b"0001-01-01", b"9999-12-31", b'"\\e[31m"', b'"\\0"', b"*a"),
    *(b"&a x", b"!!python/object:os.system x", b"../../etc/passwd", b"/dev/zero", b"\xff\xfe", b"\xc3("),
    *("木の花".encode(), "\u202e".encode(), b"a" * 5_000, b"{a: " * 60, b"40%", b"1:30", b"<<: *x", b"\t"),
]


def _word(chance: random.Random, data: bytes) -> bytes:
    """Another value behind a colon or comma."""
    places = [at for at, octet in enumerate(data) if octet in b":,[{"]
    if not places:
        return chance.choice(_WORDS)
    at = chance.choice(places) + 1
    end = at
    while end < len(data) and data[end] not in b",}]\n":
        end += 1
    return data[:at] + b" " + chance.choice(_WORDS) + data[end:]


def _other(chance: random.Random, data: bytes) -> bytes:
    """Something else altogether."""
    return chance.choice(
        [b"", b"\n", b"\0" * 100, b"{" * 3_000, b"[" * 50_000, chance.randbytes(300),
         '{"a": 1}'.encode("utf-16"), b"- " * 2_000, b"a: b\n" * 3_000]
    )  # fmt: skip


CHANGES: tuple[Change, ...] = (
    *(_cut, _flip, _flip, _doubled, _without_a_line, _moved, _word, _word, _word, _word, _other),
)
FILES = (
    *("collection.yaml", "journal/mine.yaml", "rules/own.yaml", "days.csv", "identity.txt"),
    *("calendar/plan.json", "calendar/.published.json", "calendar/all.ics"),
)


def mutated_inputs(place: Path, number: int, seed: int) -> Found:
    """Plan a collection again and again, each time with one of its files broken, and put it right again.

    Held: no traceback, none slower than `SLOW_S`; where it is refused, the calendar's feeds stay byte for
    byte and exit codes are 1 or 2 with a reason.
    """
    folder, found, chance = make_collection(place / "yard"), Found(), random.Random(seed)
    assert run_plan(folder).exit_code == 0
    state = next((folder / "calendar").glob(".p*.json"), folder / "calendar" / "plan.json")
    files = [name for name in FILES if (folder / name).exists()] + [f"calendar/{state.name}"]
    good = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    for _ in range(number):
        name = chance.choice(files)
        data = chance.choice(CHANGES)(chance, good[folder / name])
        if chance.random() < 0.3:
            data = chance.choice(CHANGES)(chance, data)
        (folder / name).write_bytes(data)
        feeds = {path: path.read_bytes() for path in folder.rglob("*.ics")}
        refused = looked_at_plan(found, folder, f"{name}: {data[:200]!r}")
        if refused and {path: path.read_bytes() for path in folder.rglob("*.ics")} != feeds:
            found.faults.append(f"{name}: refused, but feeds were changed: {data[:200]!r}")
        for path in [path for path in folder.rglob("*") if path.is_file() and path not in good]:
            path.unlink()
        for path, data in good.items():
            path.parent.mkdir(exist_ok=True)
            if not path.exists() or path.read_bytes() != data:
                path.write_bytes(data)
    return found


_read_once = cache(read_packs._read_pack)  # shipped packs are not what is broken here


def run(arguments: list[str]) -> Result:
    """A command in this process, shipped packs read once for all of them."""
    with patch.object(read_packs, "_read_pack", _read_once):
        return CliRunner().invoke(main, arguments)


def run_plan(folder: Path, today: str = TODAY) -> Result:
    """`care-planner plan`, for the same day each time."""
    return run(["plan", str(folder), "--today", today, "--out", str(folder / "calendar"), "--all"])


def looked_at_plan(found: Found, folder: Path, what: str, today: str = TODAY) -> bool:
    """Plan, and note what is wrong with the answer; whether it was refused."""
    faulthandler.dump_traceback_later(HANGS_S, exit=True, file=sys.__stderr__)
    began = time.process_time()
    done = run_plan(folder, today)
    took = time.process_time() - began
    faulthandler.cancel_dump_traceback_later()
    found.tried += 1
    found.slowest_s = max(found.slowest_s, took)
    if took > SLOW_S:
        found.slow += 1
        found.faults.append(f"slow, {took:.1f} s: {what}")
    found.looks_at(done, what, "plan")
    found.refused += done.exit_code != 0
    found.planned += done.exit_code == 0
    return done.exit_code != 0
