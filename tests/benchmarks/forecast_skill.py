"""How well a pack and learning forecast: open data, honestly split.

    python tests/benchmarks/forecast_skill.py --observations F --temperature F [--taxon NAME]
        [--pack PACK.yaml] [--stations F] [--predictions OUT.csv] [--held-out FOLDER] [--no-trend]
        [--scores-into PACK.yaml]

Formats as `care-planner fit` takes them: a file, gzipped or not, or a folder. Without --taxon and --pack the
taxon is korean-azalea. Events go by their ids in the observations; those that the pack has no stage for are
left out. --pack scores a pack as it is, by its stages and paces alone. Prints a table for people, then one
JSON object. Every station is planned by itself, as one tree on an open bench, through the functions that a
plan uses: weather years, stages, members, learning. Lines:

new_site                 the taxon's numbers only, known weather
own_seasons.N            the last N seasons in which the event was noted there, all their events known;
                         known weather; rows with 20 and more such seasons, so that the lines share them
earlier_stage            this season's earlier stage noted, where a noted stage waits for less of the very
                         same warmth; nothing else; known weather
earlier_stage_forecast   the same made on the day of that note: weather known up to the day before, then
                         the site's own earlier years (3 at least, as a plan needs)
made_1_january, made_1_march, made_1_september
                         made on that day (the last for stages of autumn, else the first two): the site's own
                         earlier years (20 and more) as weather years, its last 3 seasons noted; what came
                         before that day is left out

No forecast sees anything dated on the day it is made or later, the note it is made from apart. Beside them,
on the same rows: the mean day of the other stations given ("fixed"), and the site's own mean day over its
last 3 and 10 seasons. Where some rows have no such seasons before them, "own 3" and "own 10" are of those
that have, and the JSON says how many (`own_mean_3_rows`) and what the forecasts' RMSE is on these
(`rmse_where_3`).
With --held-out the observations and the packs are those that `care-planner fit --held-out` wrote: every
station is then forecast by numbers fitted without it. --scores-into puts such scores into the pack's file.
The record's own warming is taken out of the weather years, as a plan does; not with --no-trend.
"""

import argparse
import csv
import json
from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import numpy as np
from pack_scores import write_scores_into
from station_forecasts import OWN_MEANS, Forecast, days_from_new_year, stations_of

from care_planner.learning.fitting.read_records import read_records
from care_planner.learning.fitting.records import Records
from care_planner.problems import Problem, ProblemsFound, did_you_mean
from care_planner.rulebook.pack import Pack, TaxonRules
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.stages.reach import Floats
from care_planner.typed_yaml.read_yaml import read_yaml, validate

TAXON = "korean-azalea"
LINES = (
    *("new_site", "own_seasons", "earlier_stage", "earlier_stage_forecast"),
    *("made_1_january", "made_1_march", "made_1_september"),
)
Scored = dict[str, dict[str, dict[str, float | int]]]
Noted = dict[str, list[tuple[str, float]]]  # by event: station and day from the new year


def score(forecasts: list[Forecast], noted: Noted) -> dict[str, float | int]:
    """RMSE in days of p50, share inside the 80 % interval, and the baselines on the same rows."""
    errors = np.array([f.p50 - f.came for f in forecasts], dtype=np.float64)
    came = np.array([days_from_new_year(f.came, f.year) for f in forecasts], dtype=np.float64)
    inside = np.mean([f.p10 <= f.came <= f.p90 for f in forecasts])
    scores = {"n": len(forecasts), "rmse": rms(errors), "inside_80": round(float(inside), 3)}
    scores["bias"] = round(float(errors.mean()), 2)
    fixed = fixed_means(forecasts, noted) - came
    own = np.array([f.own_mean for f in forecasts]) - came
    scores |= {} if np.isnan(fixed).any() else {"fixed_mean_day": rms(fixed)}
    scores |= {} if np.isnan(own).any() else {"own_mean_day": rms(own)}
    for i, count in enumerate(OWN_MEANS):
        apart = np.array([f.own_means[i] for f in forecasts]) - came
        known = ~np.isnan(apart)
        if known.any():
            scores[f"own_mean_{count}"] = rms(apart[known])
            if not known.all():
                scores |= {
                    f"own_mean_{count}_rows": int(known.sum()),
                    f"rmse_where_{count}": rms(errors[known]),
                }
    return scores


def fixed_means(forecasts: list[Forecast], noted: Noted) -> Floats:
    """For each forecast the mean day of the event at the other stations; nan where there is no other."""
    sums: dict[str, float] = defaultdict(float)
    counts: dict[str, int] = defaultdict(int)
    event = forecasts[0].event
    for station, day in noted[event]:
        sums[station] += day
        counts[station] += 1
    total, number = sum(sums.values()), sum(counts.values())
    return np.array(
        [
            (total - sums[f.station]) / (number - counts[f.station]) if number > counts[f.station] else np.nan
            for f in forecasts
        ]
    )


def rms(errors: Floats) -> float:
    """Root of the mean square, to a hundredth of a day."""
    return round(float(np.sqrt(np.mean(errors**2))), 2)


def write_predictions(path: Path, forecasts: list[Forecast]) -> None:
    """Every forecast as CSV, dates as ISO."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["line", "event", "station", "year", "p10", "p50", "p90"])
        for f in forecasts:
            dates = (date.fromordinal(day).isoformat() for day in (f.p10, f.p50, f.p90))
            writer.writerow([f.line, f.event, f.station, f.year, *dates])


def shipped(taxon: str) -> TaxonRules:
    """A taxon's rules as they ship."""
    rulebook, problems = read_rulebook(taxa=[taxon])
    if problems:
        raise ProblemsFound(problems)
    if taxon not in rulebook.taxa:
        raise ProblemsFound([Problem(taxon, 0, "no such taxon", did_you_mean(taxon, rulebook.packs))])
    return rulebook.taxa[taxon]


def alone(path: Path) -> TaxonRules:
    """A pack's stages and paces, without any rules."""
    located, problems = read_yaml(path, str(path))
    pack = None
    if located is not None:
        pack, faults = validate(located, Pack)
        problems += faults
    if pack is not None and pack.taxon is None:
        problems.append(Problem(str(path), 1, "the pack has no taxon", "a taxon's pack"))
    if problems or pack is None or pack.taxon is None:
        raise ProblemsFound(problems)
    stages = {stage.id: stage for stage in pack.stages}
    return TaxonRules(pack.pack, pack.title, pack.taxon, stages, {}, {}, frozenset(), pack.sources, ())


def parts(asked: argparse.Namespace) -> Iterator[tuple[Path, TaxonRules]]:
    """Files of observations, each with the rules to forecast them by."""
    if asked.held_out is not None:
        for folder in sorted(asked.held_out.iterdir()):
            (pack,) = folder.glob("*.yaml")
            yield folder / "observations.csv", alone(pack)
    elif asked.observations is None:
        raise SystemExit("give --observations or --held-out")
    else:
        yield asked.observations, alone(asked.pack) if asked.pack else shipped(asked.taxon)


def arguments() -> argparse.Namespace:
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--observations", type=Path)
    parser.add_argument("--temperature", type=Path, required=True)
    parser.add_argument("--stations", type=Path, help="latitudes, for stages that wait for a day length")
    parser.add_argument("--taxon", default=TAXON)
    parser.add_argument("--pack", type=Path, help="score this pack, as it is")
    parser.add_argument("--predictions", type=Path)
    parser.add_argument("--held-out", type=Path, help="packs that have not seen their stations")
    parser.add_argument("--no-trend", action="store_true", help="leave the warming in the weather years")
    parser.add_argument("--scores-into", type=Path, help="put the scores into this pack's file")
    return parser.parse_args()


def main() -> None:
    """Forecast, and print."""
    asked = arguments()
    forecasts: list[Forecast] = []
    noted: Noted = defaultdict(list)
    rules = None
    try:
        for observations, rules in parts(asked):
            records = read_records(observations, asked.temperature, asked.stations)
            forecasts += [f for s in stations_of(records, rules, not asked.no_trend) for f in s.forecasts()]
            add_noted(records, noted)
    except ProblemsFound as found:
        print("\n".join(map(str, found.problems)))
        raise SystemExit(2) from None
    if not forecasts or rules is None:
        raise SystemExit("no station has both temperatures and observations of an event that the pack knows")
    forecasts.sort(key=lambda f: (f.line, f.event, f.station, f.year))
    if asked.predictions:
        write_predictions(asked.predictions, forecasts)
    stages = {stage.event_id: id for id, stage in rules.stages.items()}
    found = scores_of(forecasts, noted, list(stages))
    show(found)
    if asked.scores_into:
        write_scores_into(asked.scores_into, found, stages, noted)


def add_noted(records: Records, noted: Noted) -> None:
    """The days of the stations that have weather."""
    for (station, year, event), day in sorted(records.noted.items()):
        if station in records.weather:
            noted[event].append((station, float(days_from_new_year(day, year))))


def scores_of(forecasts: list[Forecast], noted: Noted, events: list[str]) -> Scored:
    """Scores by line and event, lines as the docstring has them, events as the year has them."""
    rows: dict[tuple[str, str], list[Forecast]] = defaultdict(list)
    for forecast in forecasts:
        rows[forecast.line, forecast.event].append(forecast)
    found: Scored = defaultdict(dict)
    for line, event in sorted(rows, key=lambda key: order(key, events)):
        found[line][event] = score(rows[line, event], noted)
    return found


def show(found: Scored) -> None:
    """A table for people, then one JSON object."""
    heads = ("fixed", *(f"own {count}" for count in OWN_MEANS))
    print(f"{'line':23}{'event':14}{'n':>6}{'RMSE':>7}{'in 80 %':>9}" + "".join(f"{h:>7}" for h in heads))
    for line, events in found.items():
        for event, scores in events.items():
            keys = ("fixed_mean_day", *(f"own_mean_{count}" for count in OWN_MEANS))
            beside = "".join(f"{scores[k]:7.2f}" if k in scores else f"{'-':>7}" for k in keys)
            print(
                f"{line:23}{event:14}{scores['n']:6}{scores['rmse']:7.2f}{scores['inside_80']:9.3f}{beside}"
            )
    print(json.dumps({"lines": found}))


def order(key: tuple[str, str], events: list[str]) -> tuple[int, int, int]:
    """The place of a line and an event: lines as the docstring has them, events as the pack has them."""
    line, event = key
    name, _, count = line.partition(".")
    return LINES.index(name), int(count or 0), events.index(event)


if __name__ == "__main__":
    main()
