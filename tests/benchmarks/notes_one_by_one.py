"""What a server does after each note, over many notes: CPU seconds until the feeds stand again, and memory.

    python tests/benchmarks/notes_one_by_one.py [TREES [NOTES]]

A made collection of TREES (300), no two alike, on the example's weather; then NOTES (20), one after another:
a stage, a work, a condition, words; after each it reads, plans and publishes as `serve` does.
"""

import sys
import time
from datetime import date, datetime
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from zoneinfo import ZoneInfo

from feed_figures import TODAY, made

from care_planner.calendar.kept_events import KeptEvents
from care_planner.cli import set_collector
from care_planner.note.take import note_words
from care_planner.plan import PlanCache
from care_planner.serve.refresh import refresh

SAID = ("bud-swell", "did repot", "condition weak", "condition strong", "note a word")


def clock(zone: str) -> datetime:
    """Nine in the morning of the day on which all is planned."""
    return datetime(TODAY.year, TODAY.month, TODAY.day, 9, tzinfo=ZoneInfo(zone))


def memory_mb() -> int:
    """What the process holds now; 0 where the system does not say."""
    held = Path("/proc/self/statm")
    return int(held.read_text().split()[1]) * 4096 // 1_000_000 if held.exists() else 0


def main(trees: int = 300, notes: int = 20) -> None:
    """Plan, note and plan again, and print."""
    set_collector()
    day = date(TODAY.year, TODAY.month, TODAY.day)
    with TemporaryDirectory() as place:
        folder = made(Path(place) / "trees", trees, True)
        cache, events, spent = PlanCache(), KeptEvents(), []
        began = time.process_time()
        last = refresh(folder, clock, None, cache, None, events)
        print(f"first plan of {trees} trees: {time.process_time() - began:.1f} s CPU, {memory_mb()} MB")
        for number in range(notes):
            note_words(folder, [f"t-{number % trees:05}", SAID[number % len(SAID)]], day, day, True)
            began = time.process_time()
            last = refresh(folder, clock, last.reading, cache, last.feeds, events)
            spent.append(time.process_time() - began)
            if number + 1 in (10, notes):
                print(f"after {number + 1} notes: {memory_mb()} MB")
    print(f"after a note: median {median(spent):.1f} s CPU, slowest {max(spent):.1f}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]))
