"""How days made from monthly means should scatter, so that their frost dates are those of daily records.

    python tests/benchmarks/monthly_calibration.py CLIMATE=FILE [CLIMATE=FILE ...] [--every N]

FILE is a weather CSV (date, tmin_c, tmax_c; may be gzipped, and may hold a column station: then each
station is a record of its own; --every N takes each n-th). Of each record only its twelve means are used; the
last and the first night at or under 0 and 3 degC of the generated days are held against its own (the median
year). Searched: sd of Tmin in the warmest and the coldest month, and the correlation from day to day. Each
climate in turn is left out of the search and then judged by what the others chose. Climates weigh alike.
"""

import argparse
import csv
import gzip
import io
import itertools
import json
from collections import defaultdict
from datetime import date
from pathlib import Path

import numpy as np

from care_planner.climate import monthly
from care_planner.climate.frost import night_seasons, percentile_day
from care_planner.climate.monthly import monthly_record
from care_planner.climate.record import WeatherRecord, daily_record

NIGHTS = (("last", 0.0), ("last", 3.0), ("first", 0.0), ("first", 3.0))
WARMEST, COLDEST, LAGS = (2.3, 2.4, 2.5, 2.6), (3.4, 3.6, 3.8), (0.5, 0.56, 0.6, 0.64, 0.69)
# A date that one of the two never has, or further apart than this, counts as so far.
WORST_DAYS = 20.0
Choice = tuple[float, float, float]


def records_of(path: Path) -> dict[str, WeatherRecord]:
    """The records of a file, by station."""
    raw = path.read_bytes()
    text = gzip.decompress(raw).decode() if raw.startswith(b"\x1f\x8b") else raw.decode()
    rows: defaultdict[str, list[tuple[float, float, float]]] = defaultdict(list)
    for row in csv.DictReader(io.StringIO(text)):
        day = date.fromisoformat(row["date"]).toordinal()
        values = float(row["tmin_c"] or "nan"), float(row["tmax_c"] or "nan")
        rows[row.get("station") or path.stem].append((day, *values))
    found = {}
    for station, held in rows.items():
        table = np.array(sorted(held))
        columns = {"tmin_c": table[:, 1], "tmax_c": table[:, 2]}
        found[station] = daily_record(table[:, 0].astype(np.int64), columns, station)
    return found


def means_of(record: WeatherRecord) -> tuple[list[float], list[float]]:
    """Twelve means of Tmin and of Tmax."""
    days = range(record.first_day, record.end_day)
    months = np.array([date.fromordinal(day).month for day in days])
    both = [[float(np.nanmean(v[months == m])) for m in range(1, 13)] for v in (record.tmin_c, record.tmax_c)]
    return both[0], both[1]


def medians(record: WeatherRecord) -> np.ndarray:
    """The median nights, as days from midwinter."""
    found = []
    for which, limit in NIGHTS:
        nights = night_seasons(record.first_day, record.tmin_c, False, limit, which)
        found.append(percentile_day(nights.day_offsets, 0.5, which=which))
    return np.array(found)


def errors(records: list[WeatherRecord], choice: Choice) -> np.ndarray:
    """Generated minus own median nights, [records, nights]."""
    monthly.TMIN_SD_WARMEST_C, monthly.TMIN_SD_COLDEST_C, monthly.LAG_1 = choice
    return np.array([medians(monthly_record(*means_of(record))) - medians(record) for record in records])


def mean_error(found: np.ndarray) -> float:
    """Mean of the absolute errors, none counted beyond `WORST_DAYS`."""
    return float(
        np.clip(np.nan_to_num(np.abs(found), nan=WORST_DAYS, posinf=WORST_DAYS), 0, WORST_DAYS).mean()
    )


def main() -> None:
    """Search with each climate left out, then with all."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("climates", nargs="+", help="NAME=FILE; a name may come again")
    parser.add_argument("--every", type=int, default=1, help="of files with stations, each n-th")
    asked = parser.parse_args()
    climates: defaultdict[str, list[WeatherRecord]] = defaultdict(list)
    for word in asked.climates:
        name, _, path = word.partition("=")
        climates[name] += list(records_of(Path(path)).values())[:: asked.every]
    choices = list(itertools.product(WARMEST, COLDEST, LAGS))
    with np.errstate(invalid="ignore"):
        found = {c: {name: errors(held, c) for name, held in climates.items()} for c in choices}
    said = {}
    for left_out in (*climates, None):
        others = [name for name in climates if name != left_out] or list(climates)
        best = min(choices, key=lambda c: np.mean([mean_error(found[c][name]) for name in others]))
        judged = found[best][left_out] if left_out else np.concatenate(list(found[best].values()))
        apart = np.abs(judged)
        said[left_out or "all"] = {
            "choice": best,
            "median_days": float(np.nanmedian(apart)),
            "within_7": [round(float(np.mean(apart[:, n] <= 7)), 2) for n in range(len(NIGHTS))],
        }
        print(f"{left_out or 'all':12} {said[left_out or 'all']}")
    print(json.dumps(said))


if __name__ == "__main__":
    main()
