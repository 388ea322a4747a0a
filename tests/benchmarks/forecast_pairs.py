"""How honest the chance of a frost night is on pairs of a forecast and what came: Brier scores.

    python tests/benchmarks/forecast_pairs.py PAIRS [--limit 0] [--from 2010-01-01]

PAIRS is a CSV with `date,temp` and one or more columns `tempfc...` (degC, the members of an ensemble; their
mean is the forecast), or `temp.rda` of the R package ensemblepp (2,749 nights at Innsbruck, the dates as row
names). That file is not shipped here, since its licence is the GPL, and was not to be had where this was
written: what it would score is not known. A made file of its form, saved by R, is read in the tests.

Each night from --from on (default: the last half of the years) is judged by what was known the day before:
the law of errors that `tonight` learns from kept forecasts (forecast_error.error_law), here from the pairs of
the last three years. Prints the Brier score beside that of a plain yes or no by the same forecast without its
bias, and of the month's own share of frost nights in the earlier years; then how often each chance came true.
"""

import argparse
import csv
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from care_planner.climate.forecast_error import chance_under, error_law
from care_planner.climate.gaps import Floats
from care_planner.climate.write_forecast import KEPT_YEARS_DAYS

BINS = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)


@dataclass(frozen=True)
class Pair:
    """A night (ordinal): the forecast made the day before and what came, degC."""

    day: int
    forecast_c: float
    came_c: float


@dataclass(frozen=True)
class Judged:
    """One night: the chances given by the law, by yes or no, by the climate, and whether it froze."""

    law: float
    yes_no: float
    climate: float
    froze: bool


def read_pairs(path: Path) -> list[Pair]:
    """The pairs of a file in the order of their days; nights without a value are left out."""
    rows = _rda_rows(path) if path.suffix.lower() == ".rda" else _csv_rows(path)
    pairs = [
        Pair(day.toordinal(), float(np.mean(members)), came)
        for day, came, members in rows
        if members and np.isfinite([came, *members]).all()
    ]
    return sorted(pairs, key=lambda pair: pair.day)


def _csv_rows(path: Path) -> Iterator[tuple[date, float, list[float]]]:
    with path.open(encoding="utf-8", newline="") as text:
        for row in csv.DictReader(text):
            members = [float(value or "nan") for name, value in row.items() if name.startswith("tempfc")]
            yield date.fromisoformat(row["date"]), float(row["temp"] or "nan"), members


def _rda_rows(path: Path) -> Iterator[tuple[date, float, list[float]]]:
    import rdata  # type: ignore[import-not-found]

    frame: Any = rdata.read_rda(path)["temp"]
    names = [name for name in frame.columns if str(name).startswith("tempfc")]
    for at, row in frame.iterrows():
        yield date.fromisoformat(str(at)[:10]), float(row["temp"]), [float(row[name]) for name in names]


def judge(pairs: Sequence[Pair], start: int, limit_c: float) -> list[Judged]:
    """Every night from `start` (ordinal) on, by the pairs before it."""
    judged = []
    for pair in pairs:
        if pair.day < start:
            continue
        before = [one for one in pairs if pair.day - KEPT_YEARS_DAYS < one.day < pair.day]
        law = error_law([(1, one.forecast_c, one.came_c) for one in before])
        bias, sd = law.at(1)
        middle = pair.forecast_c - bias
        share = _climate(pairs, pair.day, limit_c)
        yes = float(middle <= limit_c)
        judged.append(Judged(chance_under(limit_c, middle, sd), yes, share, pair.came_c <= limit_c))
    return judged


def _climate(pairs: Sequence[Pair], day: int, limit_c: float) -> float:
    month = date.fromordinal(day).month
    alike = [p.came_c <= limit_c for p in pairs if p.day < day and date.fromordinal(p.day).month == month]
    return float(np.mean(alike)) if alike else 0.5


def brier(chances: Sequence[float], froze: Sequence[bool]) -> float:
    """The mean squared distance of chances from what came (0 is best)."""
    return float(np.mean((np.array(chances) - np.array(froze)) ** 2))


def scores(judged: Sequence[Judged]) -> Mapping[str, float]:
    """Brier scores by the kind of answer."""
    froze = [one.froze for one in judged]
    return {
        name: brier([getattr(one, name) for one in judged], froze) for name in ("law", "yes_no", "climate")
    }


def came_true(judged: Sequence[Judged]) -> Iterator[tuple[float, float, int]]:
    """By bins of the chance: its mean, the share that froze, the nights."""
    chances: Floats = np.array([one.law for one in judged])
    froze = np.array([one.froze for one in judged])
    for low, high in pairwise(BINS):
        held = (chances >= low) & ((chances < high) | (high == BINS[-1]))
        if held.any():
            yield float(chances[held].mean()), float(froze[held].mean()), int(held.sum())


def main() -> None:
    """Score a file."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("pairs", type=Path)
    parser.add_argument("--limit", type=float, default=0.0, help="degC")
    parser.add_argument("--from", dest="start", type=date.fromisoformat, default=None)
    asked = parser.parse_args()
    pairs = read_pairs(asked.pairs)
    start = asked.start.toordinal() if asked.start else (pairs[0].day + pairs[-1].day) // 2
    judged = judge(pairs, start, asked.limit)
    print(f"{len(judged)} nights from {date.fromordinal(start)} on, at or under {asked.limit:g} degC")
    names = {"law": "chance by the law of errors", "yes_no": "yes or no", "climate": "the month's share"}
    for name, value in scores(judged).items():
        print(f"  Brier, {names[name]:<30}{value:6.3f}")
    for said, came, nights in came_true(judged):
        print(f"  said {said:.2f}: came true {came:.2f} ({nights} nights)")


if __name__ == "__main__":
    main()
