"""How much a calendar says: entries a year, the fullest day and week, bytes a tree.

python tests/benchmarks/feed_figures.py FOLDER | --trees N [--distinct | --nursery] [--hours]
A made collection has three taxa on six benches of the example's weather; --distinct makes no two trees alike,
--nursery ten of each kind (so 10,000 trees of 1,000 kinds); with --hours there are 8 of them on Saturdays and
on Sundays. Of a made collection it is also told what planning it costs: processor time and memory of the
whole command, from its start.
"""

import argparse
import resource
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from datetime import date
from pathlib import Path
from statistics import median

from icalendar import Calendar

EXAMPLE = Path(__file__).parents[2] / "examples" / "gangneung"
TODAY = date(2027, 3, 1)
SATURDAY = 5
ALIKE = 10  # trees of a kind in a nursery
TAXA = ("satsuki-azalea", "japanese-maple", "japanese-black-pine")


def made(folder: Path, trees: int, distinct: bool, hours: bool = False, alike: int = 1) -> Path:
    """A collection of so many trees, `alike` of each kind where they are `distinct`."""
    folder.mkdir()
    people = "people: {hours: {sat: 8, sun: 8}}" if hours else "people: {days: [sat, sun]}"
    shutil.copy(EXAMPLE / "weather.csv.gz", folder)
    lines = [
        "site: {name: X, latitude: 37.75, longitude: 128.89, timezone: Asia/Seoul, weather: weather.csv.gz}"
    ]
    lines += ["benches:", *(f"  b{n}: {{offset_c: {-(n % 3) * 0.5}}}" for n in range(6))]
    lines += ["  shed: {floor_c: 2.0, vent_c: 8.0}", people, "trees:"]
    for number in range(trees):
        n = number % (trees // alike)
        taxon = TAXA[n % 3]
        goal = ("flowers", "balanced", "vigour")[(n // 6) % 3]
        repot = f"{2023 + (n // 18) % 4}-03-{1 + n % 28 if distinct else 20:02}"
        own = f", frost_limit_c: {-1 - (n % 997) / 500:.3f}" if distinct else ""
        shed = "" if taxon == TAXA[2] else ", winter_bench: shed"
        lines.append(
            f"  - {{id: t-{number:05}, taxon: {taxon}, bench: b{n % 6}{shed}, goal: {goal}, "
            f"age: established, condition: strong, refined: yes, wired: no, "
            f"last_repot: {{date: {repot}}}{own}}}"
        )
    (folder / "collection.yaml").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder


def starts(data: bytes) -> list[date]:
    """The first day of each entry."""
    return [event.start for event in Calendar.from_ical(data).walk("VEVENT")]


def figures(out: Path, trees: int) -> list[str]:
    """Lines on the feed for everything and on the folder."""
    data = (out / "all.ics").read_bytes()
    days = starts(data)
    year = [day for day in days if TODAY <= day < TODAY.replace(year=TODAY.year + 1)]
    weeks = Counter(day.isocalendar()[:2] for day in year)
    working = Counter(day for day in year if day.weekday() >= SATURDAY)
    works = Counter(starts((out / "works.ics").read_bytes()))
    total = sum(path.stat().st_size for path in out.rglob("*") if path.is_file())
    return [
        f"all.ics: {len(year)} entries a year, {len(days)} in all to {max(days)}, {len(data) / 1000:.0f} KB",
        f"fullest day {max(Counter(year).values())}, fullest week {max(weeks.values())}, "
        f"median week {median(weeks.values()):g}",
        f"working days (Saturday, Sunday): at most {max(working.values())} entries, on "
        f"{sum(count > 3 for count in working.values())} of {len(working)} more than 3; works alone at most "
        f"{max(works.values())}; on other days {len(year) - working.total()} entries",
        f"{total} bytes in the folder, {total / trees / 1000:.1f} KB a tree",
    ]


def main() -> None:
    """Plan into a folder of its own and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", nargs="?", type=Path)
    parser.add_argument("--trees", type=int, default=0)
    parser.add_argument("--distinct", action="store_true")
    parser.add_argument("--nursery", action="store_true")
    parser.add_argument("--hours", action="store_true")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as held:
        folder = Path(held) / "trees"
        if options.trees:
            alike = ALIKE if options.nursery else 1
            made(folder, options.trees, options.distinct or options.nursery, options.hours, alike)
        else:
            shutil.copytree(options.folder, folder, ignore=shutil.ignore_patterns("calendar", "identity.txt"))
        out = folder / "calendar"
        command = [sys.executable, "-m", "care_planner.cli", "plan", str(folder), "--today", str(TODAY)]
        done = subprocess.run([*command, "--out", str(out)], capture_output=True, text=True)
        if done.returncode:
            raise SystemExit(done.stderr)
        spent = resource.getrusage(resource.RUSAGE_CHILDREN)
        trees = len(list((out / "trees").glob("*.ics")))
        print("\n".join(figures(out, trees)))
        if options.trees:
            print(f"{spent.ru_utime + spent.ru_stime:.1f} s, {spent.ru_maxrss / 1000:.0f} MB at most")


if __name__ == "__main__":
    main()
