"""How well the korean-azalea pack and learning forecast: open data, honestly split.

    python tests/benchmarks/forecast_skill.py --observations F --temperature F [--predictions OUT.csv]
        [--held-out FOLDER] [--no-trend]

F may be gzipped (formats: see fit_korean_azalea.py). Prints a table for people, then one JSON object. Every
station is planned by itself, as one tree on an open bench, through the functions that a plan uses: weather
years, stages, members, learning. Lines:

new_site                 the taxon's numbers only, known weather
own_seasons.N            the last N seasons in which the event was noted there, all their events known;
                         known weather; rows with 20 and more such seasons, so that the lines share them
earlier_stage            this season's earlier stage noted (bud burst for first flower, first flower for full
                         bloom), nothing else; known weather
earlier_stage_forecast   the same made on the day of that note: weather known up to the day before, then
                         the site's own earlier years (3 at least, as a plan needs)
made_1_january, made_1_march
                         made on that day: the site's own earlier years (20 and more) as weather years, its
                         last 5 seasons noted

No forecast sees anything dated on the day it is made or later, the note it is made from apart. Beside them:
the fixed mean day of year of the pack's training sites, and the site's own mean day over the same N seasons.
With --held-out the observations and the packs are those that fit_korean_azalea.py --held-out wrote: every
station is then forecast by numbers fitted without it.
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
from fit_korean_azalea import EVENTS
from station_forecasts import MEAN_DAY, Forecast, day_of_year, read_stations

from care_planner.rulebook.pack import TaxonRules
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.stages.reach import Floats


def score(forecasts: list[Forecast]) -> dict[str, float | int]:
    """RMSE in days of p50, share inside the 80 % interval, and the two baselines on the same rows."""
    errors = np.array([f.p50 - f.came for f in forecasts])
    fixed = np.array([MEAN_DAY[f.event] - day_of_year(f.came) for f in forecasts])
    own = np.array([f.own_mean - day_of_year(f.came) for f in forecasts])
    inside = np.mean([f.p10 <= f.came <= f.p90 for f in forecasts])
    scores = {"n": len(forecasts), "rmse": rms(errors), "inside_80": round(float(inside), 3)}
    scores |= {"bias": round(float(errors.mean()), 2), "fixed_mean_day": rms(fixed)}
    return scores | ({} if np.isnan(own).any() else {"own_mean_day": rms(own)})


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


def rules_in(folder: Path | None) -> TaxonRules:
    """The shipped pack, or the one in a folder."""
    rulebook, problems = read_rulebook(own_folder=folder, taxa=["korean-azalea"] if folder is None else [])
    if problems:
        raise SystemExit("\n".join(map(str, problems)))
    return rulebook.taxa["korean-azalea"]


def parts(observations: Path | None, held_out: Path | None) -> Iterator[tuple[Path, TaxonRules]]:
    """Files of observations, each with the rules to forecast them by."""
    if held_out is None:
        if observations is None:
            raise SystemExit("give --observations or --held-out")
        yield observations, rules_in(None)
    else:
        for folder in sorted(held_out.iterdir()):
            yield folder / "observations.csv", rules_in(folder)


def main() -> None:
    """Forecast, and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--observations", type=Path)
    parser.add_argument("--temperature", type=Path, required=True)
    parser.add_argument("--predictions", type=Path)
    parser.add_argument("--held-out", type=Path, help="packs that have not seen their stations")
    parser.add_argument("--no-trend", action="store_true", help="leave the warming in the weather years")
    asked = parser.parse_args()
    forecasts = [
        forecast
        for observations, rules in parts(asked.observations, asked.held_out)
        for station in read_stations(observations, asked.temperature, rules, not asked.no_trend)
        for forecast in station.forecasts()
    ]
    if not forecasts:
        raise SystemExit("no station has both observations and temperatures")
    forecasts.sort(key=lambda f: (f.line, f.event, f.station, f.year))
    if asked.predictions:
        write_predictions(asked.predictions, forecasts)
    by_line: dict[tuple[str, str], list[Forecast]] = defaultdict(list)
    for forecast in forecasts:
        by_line[forecast.line, forecast.event].append(forecast)
    show(by_line)


def show(by_line: dict[tuple[str, str], list[Forecast]]) -> None:
    """A table for people, then one JSON object."""
    found: dict[str, dict[str, dict[str, float | int]]] = defaultdict(dict)
    print(f"{'line':24}{'event':14}{'n':>6}{'RMSE':>7}{'in 80 %':>9}{'fixed':>7}{'own':>7}")
    for (line, event), rows in sorted(by_line.items(), key=order):
        scores = found[line][event] = score(rows)
        own = f"{scores['own_mean_day']:7.2f}" if "own_mean_day" in scores else f"{'-':>7}"
        print(
            f"{line:24}{event:14}{scores['n']:6}{scores['rmse']:7.2f}{scores['inside_80']:9.3f}"
            f"{scores['fixed_mean_day']:7.2f}{own}"
        )
    print(json.dumps({"lines": found}))


def order(item: tuple[tuple[str, str], list[Forecast]]) -> tuple[int, int, str]:
    """Lines as the docstring has them, events as the year has them."""
    line, event = item[0]
    names = ("new_site", "own_seasons", "earlier_stage", "earlier_stage_forecast", "made_1_january")
    name, _, count = line.partition(".")
    place = names.index(name) if name in names else len(names)
    return list(EVENTS).index(event), 100 * place + int(count or 0), line


if __name__ == "__main__":
    main()
