"""What one note costs among 1,000 trees: planning again over planning them all, in one run.

Run from the project's root: python tests/benchmarks/replan_cost.py

The trees are those of plan_cost.py, no two alike, on 33 weather years. Each has its first flower or bud swell
of three earlier springs noted, two thirds of them this spring's too. Then one more note comes:

a. work done (`did spring-feed`): it is of that tree alone (at most 0.1).
b. a first flower, where many trees of the taxon have noted theirs this spring (at most 0.1).
c. the first note of a stage that no tree has noted this spring: all 250 trees of the taxon hear of it and are
   planned again, so this is the worst that one note can cost.

Each time the plan with the cache must be the one that is made anew, and the median of several is printed.
"""

import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from plan_cost import EXAMPLE, collection, rulebook

from care_planner.calendar.plan_json import plan_json
from care_planner.climate.read_weather import read_weather_file
from care_planner.climate.record import WeatherRecord
from care_planner.collection.model import Collection
from care_planner.folder.read_previous import PLAN_NAME, read_previous
from care_planner.journal.model import Entry, Saw
from care_planner.plan import Plan, PlanCache, make_plan
from care_planner.rulebook.pack import Rulebook
from care_planner.years.previous import PreviousPlan

TODAY = date(2023, 5, 20)
TIMES = 5


def notes(trees: Collection) -> list[Entry]:
    """The springs of every tree, a few days apart; this one's of two in three."""
    found = []
    for number, tree in enumerate(trees.trees):
        flowers = tree.taxon in ("satsuki-azalea", "fourth-taxon")
        stage = "first-flower" if flowers else "bud-swell"
        month, day = (5, 6) if flowers else (3, 20)
        for year in range(2020, 2023 + (number % 3 > 0)):
            seen = date(year, month, day + (number * 7 + year) % 9)
            found.append(Entry(seen, tree.id, Saw(stage=stage)))
    return found


def _as_published(plan: Plan) -> PreviousPlan:
    """The plan as the next one reads it back."""
    with TemporaryDirectory() as folder:
        data = plan_json(plan.today, plan.season, plan.until, plan.tasks, plan.stages, [])
        (Path(folder) / PLAN_NAME).write_bytes(data)
        return read_previous(Path(folder))[0]


def main() -> None:
    """Plan, note, plan again."""
    trees, rules = collection(distinct=True), rulebook()
    record, problems = read_weather_file(EXAMPLE / "weather.csv.gz", "weather.csv.gz")
    if record is None:
        raise SystemExit("\n".join(map(str, problems)))
    entries = notes(trees)
    start = time.perf_counter()
    cache = PlanCache()
    plan = make_plan(trees, entries, record, rules, TODAY.toordinal(), cache=cache)
    whole = time.perf_counter() - start
    print(f"planning all {len(trees.trees)} trees with {len(entries)} notes: {whole:.1f} s")
    published = _as_published(plan)
    make_plan(trees, entries, record, rules, TODAY.toordinal(), published, cache)
    again = _Again(trees, record, rules, published, cache, whole)
    azaleas = [tree.id for n, tree in enumerate(trees.trees) if tree.taxon == "satsuki-azalea" and n % 3 == 0]
    maples = [tree.id for tree in trees.trees if tree.taxon == "japanese-maple"]
    again.show("a. work done", entries, lambda n: Entry(TODAY, azaleas[n], did="spring-feed"))
    again.show("b. one more first flower", entries, lambda n: _saw(azaleas[n], "first-flower", 20))
    again.show("c. the first flush of a taxon", entries, lambda n: _saw(maples[n], "flush", 1 + n))


def _saw(tree: str, stage: str, day: int) -> Entry:
    return Entry(date(2023, 5, day), tree, Saw(stage=stage))


class _Again:
    """Plans again after one note."""

    def __init__(
        self,
        trees: Collection,
        record: WeatherRecord,
        rules: Rulebook,
        published: PreviousPlan,
        cache: PlanCache,
        whole: float,
    ) -> None:
        self.trees, self.record, self.rules = trees, record, rules
        self.published, self.cache, self.whole = published, cache, whole

    def show(self, label: str, entries: list[Entry], note: Callable[[int], Entry]) -> None:
        """Print what one kind of note costs."""
        seconds, changed = [], 0
        for n in range(TIMES):
            with_note = [*entries, note(n)]
            start = time.perf_counter()
            plan = self._plan(with_note, self.cache)
            seconds.append(time.perf_counter() - start)
            if n == 0 and days(plan) != days(self._plan(with_note, None)):
                raise SystemExit(f"{label}: the cache gives another plan")
            changed = len(changed_trees(self.published, plan))
            self._plan(entries, self.cache)
        print(
            f"{label}: {median(seconds):.2f} s, ratio {median(seconds) / self.whole:.3f}; "
            f"days of {changed} trees move"
        )

    def _plan(self, entries: list[Entry], cache: PlanCache | None) -> Plan:
        today = TODAY.toordinal()
        return make_plan(self.trees, entries, self.record, self.rules, today, self.published, cache)


def days(plan: Plan) -> list[tuple[str, int, float]]:
    """What a person would see of a plan."""
    return [(task.key, task.day, task.chance) for task in plan.tasks]


def changed_trees(before: PreviousPlan, plan: Plan) -> set[str]:
    """Trees with a day that moved."""
    found = set()
    for task in plan.tasks:
        old = before.of(task.tree).tasks.get(task.part)
        if old is not None and old.day != task.day:
            found.add(task.tree)
    return found


if __name__ == "__main__":
    main()
