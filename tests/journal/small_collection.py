"""A collection of four invented trees on invented monthly means, small enough to be planned many times."""

from datetime import date, timedelta
from math import cos, pi
from pathlib import Path

from care_planner.note.take import note
from care_planner.problems import ProblemsFound

COLLECTION = """\
site:
  {name: Small yard, latitude: 37.75, longitude: 128.89, elevation_m: 26, timezone: Asia/Seoul,
   weather: {monthly: {
     tmin_c: [-3, -2, 2, 8, 13, 17, 21, 22, 17, 11, 5, -1],
     tmax_c: [5, 7, 11, 18, 23, 25, 28, 29, 25, 20, 13, 7]}}}
benches: {open: {}, low: {offset_c: -2.0}, shed: {floor_c: 2.0, vent_c: 8.0}}
trees:
  - {id: sats-01, taxon: satsuki-azalea, bench: open, winter_bench: shed, goal: vigour,
     age: established, condition: strong, acquired: 2026-02-01}
  - {id: sats-02, taxon: satsuki-azalea, bench: low, winter_bench: shed, goal: flowers,
     age: established, condition: strong, until: {date: 2027-06-30, why: sold}}
  - {id: maple-01, taxon: japanese-maple, bench: open, age: young, condition: strong}
  - {id: pine-01, taxon: japanese-black-pine, bench: open, age: established, condition: strong}
"""
# A grower's own words for work, as a pack of one's own gives them.
OWN_PACK = "lays_over: satsuki-azalea\nrules: [{id: repot, noted_as: [repotted, root-pruned]}]\n"
TODAY = date(2027, 7, 15)


def make_collection(folder: Path) -> Path:
    """Write it into `folder`, which is made; the journal is empty."""
    (folder / "rules").mkdir(parents=True)
    (folder / "collection.yaml").write_text(COLLECTION, encoding="utf-8")
    (folder / "rules" / "own.yaml").write_text(OWN_PACK, encoding="utf-8")
    return folder


def make_quick_collection(folder: Path) -> Path:
    """The same without the pine, on three invented years of days: planned in a third of the time."""
    make_collection(folder)
    before, _, after = COLLECTION.partition("{monthly:")
    trees = after.partition("}}\n")[2].partition("  - {id: pine-01")[0]
    (folder / "collection.yaml").write_text(f"{before}days.csv}}\n{trees}", encoding="utf-8")
    means = [10 - 12 * cos(2 * pi * number / 365.25) for number in range(3 * 365)]
    first = date(2023, 1, 1)
    rows = [f"{first + timedelta(n)},{mean - 5:.1f},{mean + 5:.1f}" for n, mean in enumerate(means)]
    (folder / "days.csv").write_text("\n".join(["date,tmin_c,tmax_c", *rows, ""]), encoding="utf-8")
    return folder


def journal_text(folder: Path) -> str:
    """All files of the journal, in the order of their names."""
    files = sorted((folder / "journal").glob("*.yaml"))
    return "".join(path.read_text(encoding="utf-8") for path in files)


def noted(folder: Path, who: str, what: str, on: str = "2027-05-23", sure: bool = False) -> list[str]:
    """Note it, with the trees in one text."""
    return note(folder, tuple(who.split()), what, date.fromisoformat(on), TODAY, sure)


def refused(folder: Path, who: str, what: str, on: str = "2027-05-23", sure: bool = False) -> list[str]:
    """What is said against it; nothing may have been written."""
    before = journal_text(folder)
    try:
        told = noted(folder, who, what, on, sure)
    except ProblemsFound as found:
        assert journal_text(folder) == before
        return [str(problem) for problem in found.problems]
    raise AssertionError(told)
