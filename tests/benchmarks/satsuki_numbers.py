"""What the satsuki pack's numbers say on a weather record: the table its comments quote.

    python tests/benchmarks/satsuki_numbers.py RECORD LATITUDE [RECORD LATITUDE ...]

Prints the 10, 50 and 90 % dates of each stage over weather years and paces, the shift of the middle of bloom
on the same weather 2 degC warmer, and the share of years with room to prune after bloom. Without arguments:
the Utsunomiya and Brussels records of tests/data. The tree stands on the open bench all year, its goal is
flowers, so that no work ends its bloom, and nothing was noted of it.
"""

import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np

from care_planner.climate.read_weather import read_weather_file
from care_planner.climate.record import WeatherRecord
from care_planner.collection.model import Collection
from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.spans import is_south, month_day
from care_planner.stages.members import quantile
from care_planner.stages.moments import evaluate
from care_planner.years.common import shared_by_all
from care_planner.years.profiles import Profile, resolve_profile, tree_facts
from care_planner.years.state import TreeYears

DATA = Path(__file__).parents[1] / "data"
STAGES = (
    *("bud-swell", "new-leaves", "first-flower", "third-open", "half-open", "end-of-bloom"),
    *("flush", "flower-bud-set", "end-of-growth", "rest"),
)
PRUNE = "prune-after-bloom"


def collection(latitude: float) -> Collection:
    """One satsuki on an open bench."""
    tree = {"id": "one", "taxon": "satsuki-azalea", "bench": "open", "goal": "flowers"}
    # The pack's numbers were chosen on the records as they are.
    place = {"latitude": str(latitude), "longitude": "0", "timezone": "UTC", "take_out_warming": "no"}
    site = {**place, "weather": "none.csv"}
    facts = {"age": "established", "condition": "strong"}
    return Collection.model_validate({"site": site, "benches": {"open": {}}, "trees": [{**tree, **facts}]})


def years_of(record: WeatherRecord, latitude: float, rulebook: Rulebook) -> TreeYears:
    """The tree's years, planned from the midwinter after the record's end."""
    whole = collection(latitude)
    last_year = date.fromordinal(record.first_day + len(record.tmin_c)).year
    today = month_day(last_year + 1, 1, 1, is_south(latitude))
    shared, _ = shared_by_all(whole, record, today)
    return resolve_profile(Profile(tree_facts(whole.trees[0], shared.frame.season), ()), rulebook, shared)


def warmer(record: WeatherRecord, by_c: float) -> WeatherRecord:
    """The same record with every temperature raised."""
    return replace(
        record, tmin_c=record.tmin_c + by_c, tmax_c=record.tmax_c + by_c, tmean_c=record.tmean_c + by_c
    )


def day(ordinal: float) -> str:
    """A date without its year."""
    return f"{date.fromordinal(int(ordinal)):%d %b}" if np.isfinite(ordinal) else "never"


def show(path: Path, latitude: float, rulebook: Rulebook) -> None:
    """Print one record's table."""
    record, problems = read_weather_file(path, path.name)
    if record is None:
        print(*problems, sep="\n")
        return
    years = years_of(record, latitude, rulebook)
    print(f"{path.name}, {latitude:g} degrees")
    for stage in STAGES:
        dates = [day(quantile(years.stage(stage, 0), share)) for share in (0.1, 0.5, 0.9)]
        print(f"  {stage:16}{'   '.join(dates)}")
    middles = [
        quantile(found.stage("half-open", 0), 0.5)
        for found in (years, years_of(warmer(record, 2.0), latitude, rulebook))
    ]
    print(f"  2 degC warmer: half-open moves by {middles[1] - middles[0]:+.0f} days")
    rule = rulebook.taxa["satsuki-azalea"].rules[PRUNE]
    closes = evaluate(rule.closes, 0, years)
    room = np.mean(closes >= years.stage("end-of-bloom", 0))
    print(f"  prune: last day {day(quantile(closes, 0.5))}, room in {room:.0%}\n")


def main() -> None:
    """Show the records named, or the two the numbers were fitted to."""
    rulebook, problems = read_rulebook(taxa=["satsuki-azalea"])
    if problems:
        sys.exit("\n".join(map(str, problems)))
    named = sys.argv[1:]
    pairs = [(Path(path), float(latitude)) for path, latitude in zip(named[::2], named[1::2], strict=True)]
    fitted = [("utsunomiya_1976_2025", 36.55), ("brussels_1976_2005", 50.80)]
    for path, latitude in pairs or [(DATA / f"{name}.csv.gz", latitude) for name, latitude in fitted]:
        show(path, latitude, rulebook)


if __name__ == "__main__":
    main()
