"""What the shipped packs make of other climates: stages, decisive works, the first and the last of each.

python -m care_planner.tools.read_climates FOLDER [--today 2027-01-05]

FOLDER holds daily weather files (CSV or CSV.gz as a collection's) and `latitudes.csv` with a line
`FILE,LATITUDE` for each (degrees, north positive).
"""

import csv
import sys
from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path

from care_planner.climate.read_weather import read_weather_file
from care_planner.climate.record import WeatherRecord
from care_planner.collection.model import Collection
from care_planner.plan import Plan, make_plan
from care_planner.problems import Problem
from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.spans import is_south, season_of, season_start
from care_planner.tasks.model import Task
from care_planner.words.days import short_day
from care_planner.words.fates import fate_words

LATITUDES = "latitudes.csv"
USAGE = "usage: python -m care_planner.tools.read_climates FOLDER [--today 2027-01-05]"
HARDY = {"age": "established", "condition": "strong", "bench": "open", "winter_bench": "shed", "wired": "no"}
TREES = {
    "satsuki-flowers": {"taxon": "satsuki-azalea", "goal": "flowers", "multicoloured": "yes"},
    "satsuki-balanced": {"taxon": "satsuki-azalea", "goal": "balanced", "multicoloured": "no"},
    "satsuki-vigour": {"taxon": "satsuki-azalea", "goal": "vigour", "multicoloured": "no"},
    "satsuki-young": {"taxon": "satsuki-azalea", "goal": "vigour", "age": "young", "multicoloured": "no"},
    "maple": {"taxon": "japanese-maple", "refined": "yes"},
    "pine": {"taxon": "japanese-black-pine", "refined": "yes"},
}
# Works that cost a tree, a year of flowers or a year of growth where they come at a wrong time.
DECISIVE = (
    *("bring-out", "out-by-day", "frost-cover", "repot", "all-buds-off", "tag-colours", "remaining-buds-off"),
    *(
        "end-bloom-early",
        "prune-after-bloom",
        "candle-cut",
        "cut-to-pair",
        "partial-defoliation",
        "summer-shade",
    ),
    *("bud-look", "rub-buds-off", "shelter"),
)


def read_climates(folder: Path) -> tuple[dict[str, tuple[float, WeatherRecord]], list[Problem]]:
    """By file name the latitude and the record of every weather file named in the folder's latitudes.csv."""
    path = folder / LATITUDES
    try:
        rows = list(csv.reader(path.read_text(encoding="utf-8").splitlines()))
    except (OSError, UnicodeDecodeError) as error:
        return {}, [Problem(LATITUDES, 0, f"cannot be read ({error})", "a line FILE,LATITUDE for each file")]
    found: dict[str, tuple[float, WeatherRecord]] = {}
    problems = []
    for number, row in enumerate(rows, start=1):
        if not row or row[0].startswith("#") or row == ["file", "latitude"]:
            continue
        try:
            name, latitude = row[0].strip(), float(row[1])
        except (IndexError, ValueError):
            problems.append(Problem(LATITUDES, number, f"{','.join(row)!r} is no FILE,LATITUDE", "as 50.8"))
            continue
        record, faults = read_weather_file(folder / name, name)
        problems += faults
        if record is not None:
            found[name] = (latitude, record)
    return found, problems


def planned(latitude: float, record: WeatherRecord, rulebook: Rulebook, today: int) -> Plan:
    """A plan of one tree of each kind, at one place."""
    season = season_of(today, is_south(latitude))
    trees = []
    for id, tree in TREES.items():
        years = 2 if tree.get("age") == "young" else 4
        repotted = season_start(season - years, is_south(latitude)) + 95
        last = {"date": date.fromordinal(repotted).isoformat()}
        trees.append({**HARDY, "id": id, **tree, "last_repot": last, "repot_every_years": "8"})
    collection = Collection.model_validate(
        {
            "site": {"latitude": str(latitude), "longitude": "0", "timezone": "UTC", "weather": "a.csv"},
            "benches": {"open": {}, "shed": {"floor_c": "0", "vent_c": "8"}},
            "trees": trees,
        }
    )
    return make_plan(collection, (), record, rulebook, today)


def climate_lines(plans: Mapping[str, Plan]) -> Iterator[str]:
    """A table of stages and works for each climate, then the first and the last of each over all of them."""
    firsts: defaultdict[tuple[str, str], list[tuple[int, str]]] = defaultdict(list)
    for name, plan in plans.items():
        yield from ("", name, "")
        for tree in TREES:
            yield f"  {tree}"
            for row in plan.stages:
                if (row.tree, row.season) == (tree, plan.season) and None not in (row.p10, row.p50, row.p90):
                    assert row.p10 is not None and row.p50 is not None and row.p90 is not None
                    days = "".join(f"{short_day(day):>8}" for day in (row.p10, row.p50, row.p90))
                    yield f"    {row.stage:<26}{days}"
                    firsts[tree, row.stage].append((_of_year(row.p50, plan), name))
            for work in DECISIVE:
                key = (tree, work, plan.season, "work")
                tasks = [t for t in plan.tasks if (t.tree, t.rule, t.season, t.kind) == key]
                if tasks:
                    yield _work_line(work, tasks)
                    firsts[tree, work].append((_of_year(tasks[0].day, plan), name))
                elif (fate := plan.fates[tree].get((work, plan.season))) is not None and fate.state != "lost":
                    yield f"    - {work}: {fate_words(fate)}"[:100]
    yield from ("", "First and last of each, northern dates", "")
    for (tree, what), held in firsts.items():
        first, last = min(held), max(held)
        ends = [f"{_northern(day):>8} {name[:22]:<24}" for day, name in (first, last)]
        yield f"  {tree:<18}{what:<26}{ends[0]}{ends[1]}".rstrip()


def _work_line(work: str, tasks: list[Task]) -> str:
    window = tasks[0].window
    ends = [short_day(day) if day is not None else "-" for day in (window.opens, window.closes)]
    return (
        f"    * {work:<24}{short_day(tasks[0].day):>8}   {ends[0]:>7} to {ends[1]:<8}{tasks[0].chance:>5.0%}"
    )


def _of_year(day: int, plan: Plan) -> int:
    """Days from the season's midwinter, so that both hemispheres compare."""
    year = date.fromordinal(plan.today).year
    start = min((season_start(year, south) for south in (False, True)), key=lambda s: abs(s - plan.today))
    return day - start


def _northern(days: int) -> str:
    return short_day(date(2027, 1, 1).toordinal() + days)


def main(arguments: list[str]) -> int:
    """0, or 2 where the folder cannot be used."""
    if not arguments or len(arguments) not in (1, 3) or (len(arguments) == 3 and arguments[1] != "--today"):
        print(USAGE, file=sys.stderr)
        return 2
    found, problems = read_climates(Path(arguments[0]))
    rulebook, faults = read_rulebook(taxa={tree["taxon"] for tree in TREES.values()})
    for problem in (*problems, *faults):
        print(problem, file=sys.stderr)
    if problems or faults:
        return 2
    day = date.fromisoformat(arguments[2]) if len(arguments) == 3 else date(2027, 1, 5)
    plans = {}
    for name, (latitude, record) in sorted(found.items()):
        half = season_start(day.year, is_south(latitude)) - season_start(day.year, south=False)
        today = day.toordinal() + half
        plans[name] = planned(latitude, record, rulebook, today)
    for line in climate_lines(plans):
        print(line)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
