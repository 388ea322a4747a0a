"""Files of a collection, broken in ways that people, editors and disks break them; and packs of extremes.

Everything is drawn from a seed, so a find can be made again.
"""

import random
import shutil
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta
from math import cos, pi
from pathlib import Path

from click.testing import CliRunner

from care_planner.cli import main

EXAMPLE = Path(__file__).parents[2] / "examples" / "gangneung"
TODAY = "2027-03-01"
SLOW_S = 10.0

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
MONTHLY = (
    "{monthly: {tmin_c: [-2, -1, 2, 7, 12, 16, 20, 21, 17, 10, 4, -1], "
    "tmax_c: [6, 7, 12, 18, 22, 25, 28, 29, 24, 20, 14, 8]}}"
)


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
    faults: list[str] = field(default_factory=list)

    def words(self) -> str:
        """One line for people."""
        return (
            f"{self.tried} tried: {self.planned} planned, {self.refused} refused, slowest "
            f"{self.slowest_s:.1f} s, {len(self.faults)} faults"
        )


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
        refused = _try(found, folder, f"{name}: {data[:200]!r}")
        if refused and {path: path.read_bytes() for path in folder.rglob("*.ics")} != feeds:
            found.faults.append(f"{name}: refused, but feeds were changed: {data[:200]!r}")
        for path in [path for path in folder.rglob("*") if path.is_file() and path not in good]:
            path.unlink()
        for path, data in good.items():
            path.parent.mkdir(exist_ok=True)
            if not path.exists() or path.read_bytes() != data:
                path.write_bytes(data)
    return found


def run_plan(folder: Path):  # type: ignore[no-untyped-def]  # click names its result nowhere in public
    """`care-planner plan` in this process, for the same day each time."""
    return CliRunner().invoke(
        main, ["plan", str(folder), "--today", TODAY, "--out", str(folder / "calendar"), "--all"]
    )


def _try(found: Found, folder: Path, what: str, why: str = "") -> bool:
    """Plan, and note what is wrong with the answer; whether it was refused."""
    began = time.monotonic()
    done = run_plan(folder)
    took = time.monotonic() - began
    found.tried += 1
    found.slowest_s = max(found.slowest_s, took)
    if took > SLOW_S:
        found.faults.append(f"slow, {took:.1f} s: {what}")
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        last = traceback.format_exception(done.exception)[-3:]
        found.faults.append(f"{type(done.exception).__name__}: {what}\n{''.join(last)}")
    elif done.exit_code not in (0, 1, 2):
        found.faults.append(f"exit code {done.exit_code}: {what}")
    elif done.exit_code and not done.output.strip():
        found.faults.append(f"refused without a word: {what}")
    found.refused += done.exit_code != 0
    found.planned += done.exit_code == 0
    return done.exit_code != 0


NUMBERS = ("-60", "-40.5", "-9", "-0.1", "0", "0.001", "3", "12", "24", "35.5", "60", "400", "5000", "1e6")
PLACES = (
    *(("0", "0", "UTC"), ("89.9", "0", "UTC"), ("-89.9", "0", "Antarctica/McMurdo"), ("66.6", "25", "UTC")),
    *(("-34.6", "-58.4", "America/Argentina/Buenos_Aires"), ("37.75", "128.9", "Asia/Seoul")),
    *(("-45", "179.9", "Pacific/Auckland"), ("52.4", "4.9", "Europe/Amsterdam")),
)


def _climate(chance: random.Random) -> str:
    if chance.random() < 0.4:
        return MONTHLY
    middle, swing = chance.choice([-30, -5, 3, 10, 24, 33]), chance.choice([0, 2, 8, 20])
    means = [middle - swing * cos(2 * pi * month / 12) for month in range(12)]
    rows = [", ".join(f"{mean + side:.1f}" for mean in means) for side in (-4, 4)]
    return f"{{monthly: {{tmin_c: [{rows[0]}], tmax_c: [{rows[1]}]}}}}"


def moment(chance: random.Random, depth: int = 0) -> str:
    """A moment of any kind, with extreme numbers, as YAML."""

    def number() -> str:
        return chance.choice(NUMBERS)

    def warmth() -> str:
        method = chance.choice(["average", "single-sine", "double-triangle"])
        return f"{{method: {method}, base_c: {number()}}}"

    since = f"since: {{stage: {chance.choice(['dormancy-broken', 'flush', 'rest'])}}}"
    kinds = {
        "stage": lambda: f"stage: {chance.choice(['bud-swell', 'flush', 'end-of-growth', 'rest'])}",
        "warmth": lambda: f"warmth: {{by: {warmth()}, sum: {number()}}}, {since}",
        "chill": lambda: f"chill: {{by: {{method: hours, low_c: 0, high_c: 7}}, sum: {number()}}}, {since}",
        "held": lambda: (
            f"held: {{of: {chance.choice(['mean', 'min', 'max'])}, "
            f"{chance.choice(['at_least_c', 'at_most_c'])}: {number()}, days: {chance.choice([1, 5, 60])}}}"
        ),
        "first_night": lambda: f"first_night: {{at_most_c: {chance.choice([*NUMBERS, 'frost-limit'])}}}",
        "last_night": lambda: f"last_night: {{at_most_c: {chance.choice([*NUMBERS, 'frost-limit'])}}}",
        "day_length": lambda: (
            f"day_length: {{{chance.choice(['at_least_h', 'at_most_h'])}: "
            f"{chance.choice(['0', '6', '11.9', '13', '23.9', '24'])}}}"
        ),
        "work": lambda: f"work: {chance.choice(['repot', 'shelter', 'bring-out'])}",
        "last_cut": lambda: "last_cut: any",
        "month_day": lambda: f'month_day: "{chance.choice(["01-01", "02-29", "06-30", "12-31"])}"',
        "last_day_leaving": lambda: (
            f"last_day_leaving: {{by: {warmth()}, sum: {number()}, before: {{stage: end-of-growth}}}}"
        ),
        "earliest": lambda: f"earliest: [{moment(chance, depth + 1)}, {moment(chance, depth + 1)}]",
        "latest": lambda: f"latest: [{moment(chance, depth + 1)}, {moment(chance, depth + 1)}]",
    }
    names = [name for name in kinds if depth < 2 or name not in ("earliest", "latest")]
    name = chance.choice(names)
    text = kinds[name]()
    if chance.random() < 0.4:
        text += f", plus_days: {chance.choice([-366, -30, -1, 1, 14, 366])}"
    if name in ("stage", "month_day", "first_night", "last_night", "work") and chance.random() < 0.2:
        text += f", season: {chance.choice(['previous', 'next'])}"
    return f"{{{text}}}"


def extremes(place: Path, number: int, seed: int) -> Found:
    """Rules with moments of every kind and extreme numbers, at extreme places, planned and explained.

    Held: no traceback in `plan` or in `why` of the rule, none slower than `SLOW_S`.
    """
    found, chance = Found(), random.Random(seed)
    for n in range(number):
        folder = make_collection(place / f"yard-{n}")
        latitude, longitude, zone = chance.choice(PLACES)
        weather = "days.csv" if chance.random() < 0.2 else _climate(chance)
        told = {"latitude": latitude, "longitude": longitude, "zone": zone, "weather": weather}
        (folder / "collection.yaml").write_text(COLLECTION.format(**told), encoding="utf-8")
        opens, closes = moment(chance), moment(chance)
        own = OWN.replace("{stage: flush}", opens).replace("{stage: end-of-growth}", closes)
        own = own[: own.index("    examples:")].replace("choose: early", f"choose: {chance.choice(_CHOICES)}")
        if chance.random() < 0.5:
            own = own.replace("    repeat: {every_days: 28}\n", "")
        (folder / "rules" / "own.yaml").write_text(own, encoding="utf-8")
        what = f"{latitude} N, {weather[:160]}; opens {opens}, closes {closes}"
        if not _try(found, folder, what):
            _explain(found, folder, what)
        shutil.rmtree(folder)
    return found


_CHOICES = ("early", "mid", "late")


def _explain(found: Found, folder: Path, what: str) -> None:
    for command in (["why", str(folder), "maple-01", "turn-pots", "--today", TODAY], ["frost", str(folder)]):
        done = CliRunner().invoke(main, command)
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            last = traceback.format_exception(done.exception)[-3:]
            found.faults.append(f"{command[0]}: {type(done.exception).__name__}: {what}\n{''.join(last)}")
