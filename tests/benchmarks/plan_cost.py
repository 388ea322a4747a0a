"""What planning costs beside icalendar, and the command line beside click: ratios from one run.

Run from the project's root: python tests/benchmarks/plan_cost.py [--profile]

a. `care-planner --help` against `python -c "import click"`, medians of several processes in turn.
b. `care-planner plan` on the example's twelve trees: the whole process, median of several.
c. Planning 1,000 trees of four taxa on three benches with 33 weather years, against icalendar alone
   building and serialising the same events, one calendar a tree. The text of each description is made
   before its clock starts. Twice: trees that all differ, and a nursery's trees, potted in batches.

With --profile, instead: where the time of planning the trees that all differ goes.
"""

import cProfile
import platform
import pstats
import subprocess
import sys
import time
from collections import Counter, defaultdict
from datetime import UTC, date, datetime
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from uuid import UUID

from icalendar import Calendar, Event, vText

from care_planner.calendar.event import Event as CareEvent
from care_planner.calendar.events import Maker, tree_events
from care_planner.calendar.feed import PRODID
from care_planner.calendar.text import describe
from care_planner.climate.read_weather import read_weather_file
from care_planner.climate.record import WeatherRecord
from care_planner.collection.model import Collection
from care_planner.plan import Plan, make_plan
from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.read_packs import read_rulebook, shipped_folder
from care_planner.tasks.agenda import agenda
from care_planner.tasks.model import Task
from care_planner.words.speaker import Speaker
from care_planner.years.basis import Basis
from care_planner.years.profiles import noted_trees, twins

EXAMPLE = Path(__file__).parents[2] / "examples" / "gangneung"
TODAY = date(2027, 3, 1)
TREES = 1_000
TAXA = ("satsuki-azalea", "japanese-maple", "japanese-black-pine", "fourth-taxon")
GOALS = ("flowers", "vigour", "balanced")
PROCESSES = 21
STAMP = datetime(2027, 3, 1, 8, tzinfo=UTC)


def a_tree(number: int, potted_on: date) -> dict[str, object]:
    """One of the thousand; its facts turn at different rates, so that all combinations come up."""
    facts: dict[str, object] = {
        "id": f"tree-{number:04}",
        "taxon": TAXA[number % 4],
        "bench": ("open", "frost-pocket")[number // 4 % 2],
        "goal": GOALS[number // 8 % 3],
        "age": ("established", "young")[number // 24 % 2],
        "condition": "weak" if number % 11 == 0 else "strong",
        "size": ("small", "large")[number // 48 % 2],
        "refined": ("yes", "no")[number // 5 % 2],
        "last_repot": {"date": potted_on.isoformat()},
    }
    return facts if number % 3 == 0 else {**facts, "winter_bench": "shed"}


def collection(distinct: bool) -> Collection:
    """A thousand trees: each potted on a day of its own, or in batches on one of twelve Saturdays."""
    first = date(2022, 2, 26).toordinal()
    trees = []
    for number in range(TREES):
        week = number % 12
        day = first + (number * 1_609 % 1_613 if distinct else 365 * (week // 3) + 7 * (week % 3))
        trees.append(a_tree(number, date.fromordinal(day)))
    site = {"latitude": "37.75", "longitude": "128.89", "timezone": "Asia/Seoul", "weather": "weather.csv.gz"}
    benches = {"open": {}, "frost-pocket": {"offset_c": "-2"}, "shed": {"floor_c": "2", "vent_c": "8"}}
    whole = {"site": site, "benches": benches, "people": {"days": ["sat", "sun"]}, "trees": trees}
    return Collection.model_validate(whole)


def rulebook() -> Rulebook:
    """The shipped packs, and a fourth taxon: the satsuki's pack under another name."""
    text = (shipped_folder() / "satsuki-azalea.yaml").read_text(encoding="utf-8")
    with TemporaryDirectory() as folder:
        named = text.replace("pack: satsuki-azalea", "pack: fourth-taxon", 1)
        (Path(folder) / "fourth-taxon.yaml").write_text(named, encoding="utf-8")
        found, problems = read_rulebook(Path(folder))
    if problems:
        raise SystemExit("\n".join(map(str, problems)))
    return found


def by_icalendar(events: list[tuple[CareEvent, str]]) -> bytes:
    """A calendar of the same events with the same properties, built and serialised by icalendar alone."""
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", PRODID)
    for event, description in events:
        built = Event()
        built.add("summary", event.title)
        built.add("dtstart", date.fromordinal(event.day))
        built.add("dtend", date.fromordinal(event.day + 1))
        built.add("dtstamp", STAMP)
        built.add("uid", event.uid)
        built.add("sequence", 0)
        built.add("categories", list(event.categories))
        built.add("description", vText(description))
        built.add("last-modified", STAMP)
        built.add("status", "CONFIRMED" if event.firm else "TENTATIVE")
        built.add("transp", "TRANSPARENT")
        calendar.add_component(built)
    return calendar.to_ical()


def seconds_of_icalendar(plan: Plan) -> tuple[float, int]:
    """Seconds in icalendar for all events of a plan, and the octets it made."""
    make = Maker(UUID(int=0), Speaker({}))
    seconds, octets = 0.0, 0
    trees: defaultdict[str, list[Task]] = defaultdict(list)
    for task in plan.tasks:
        trees[task.tree].append(task)
    for own in trees.values():
        events = tree_events(agenda(own, lambda monday: monday + 5), make)
        described = [(event, describe(event)) for event in events]
        start = time.perf_counter()
        octets += len(by_icalendar(described))
        seconds += time.perf_counter() - start
    return seconds, octets


def planning(label: str, distinct: bool, record: WeatherRecord, rules: Rulebook) -> None:
    """Print (c) for one kind of collection."""
    trees = collection(distinct)
    today = TODAY.toordinal()
    basis = Basis(trees, record, rules, today)
    planned = Counter(len(names) for _, names in twins(noted_trees(trees, (), basis.shared), today))
    start = time.perf_counter()
    plan = make_plan(trees, (), record, rules, today)
    ours = time.perf_counter() - start
    theirs, octets = seconds_of_icalendar(plan)
    alike = sum(size * count for size, count in planned.items() if size > 1)
    print(
        f"c. {label}: {TREES} trees, {planned.total()} of them different ({alike} have a twin), "
        f"{len(basis.weather_years.labels)} weather years, {len(plan.tasks)} events, {octets / 1e6:.0f} MB"
    )
    print(f"   make_plan {ours:.1f} s, icalendar {theirs:.1f} s, ratio {ours / theirs:.2f}  (at most 1)")


def process_seconds(*commands: list[str]) -> list[float]:
    """The median seconds of each command's process, the commands taking turns."""
    seconds: list[list[float]] = [[] for _ in commands]
    for _ in range(PROCESSES):
        for found, command in zip(seconds, commands, strict=True):
            start = time.perf_counter()
            subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
            found.append(time.perf_counter() - start)
    return [median(found) for found in seconds]


def main() -> None:
    """Measure and print."""
    record, problems = read_weather_file(EXAMPLE / "weather.csv.gz", "weather.csv.gz")
    if record is None:
        raise SystemExit("\n".join(map(str, problems)))
    rules = rulebook()
    if "--profile" in sys.argv:
        trees = collection(distinct=True)
        with cProfile.Profile() as profile:
            make_plan(trees, (), record, rules, TODAY.toordinal())
        pstats.Stats(profile).sort_stats("tottime").print_stats(25)
        return
    print(f"Python {platform.python_version()}, {platform.machine()}")
    # Before the large plans: a parent of a gigabyte slows the starting of processes.
    command = [sys.executable, "-m", "care_planner.cli"]
    ours, theirs = process_seconds([*command, "--help"], [sys.executable, "-c", "import click"])
    print(f"a. --help {ours:.3f} s, import click {theirs:.3f} s, ratio {ours / theirs:.2f}  (at most 1.5)")
    (whole,) = process_seconds([*command, "plan", str(EXAMPLE), "--today", TODAY.isoformat()])
    print(f"b. plan on the example's 12 trees {whole:.2f} s  (at most 2)")
    planning("trees that differ", True, record, rules)
    planning("a nursery's batches", False, record, rules)


if __name__ == "__main__":
    main()
