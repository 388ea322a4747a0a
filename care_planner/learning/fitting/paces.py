"""How trees and seasons differ from the form fitted: spreads, and what the variance is made of."""

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from care_planner.learning.covariance import covariance, points
from care_planner.learning.fitting.need_forms import Gathering
from care_planner.learning.fitting.records import Seasons
from care_planner.learning.fitting.search import Fit, at_event
from care_planner.learning.notes import PLAIN_DAYS
from care_planner.rulebook.taxon import Pace, StagePace
from care_planner.stages.reach import Floats, Ints

CLIP = 3.0  # residuals beyond so many standard deviations are clipped for the likelihood
SPREAD_MOST = 0.8
NORMAL_80 = 1.2816  # 80 % of a normal law lie within so many standard deviations
_STEP, _STEP_LEAST = 0.8, 0.1


@dataclass(frozen=True, eq=False)
class LogPaces:
    """Of one event: log paces, their change in a day, stations and years, [n] each."""

    values: Floats
    per_day: Floats
    stations: tuple[str, ...]
    years: Ints


@dataclass(frozen=True)
class Shares:
    """What is fitted of one chain: see `Pace`. `spreads`, `in_step`: by stage."""

    spreads: dict[str, float]
    in_step: dict[str, float]
    keeps: float
    fades: float
    fades_years: float
    alone: float


def log_paces(seasons: Seasons, fit: Fit, first: int, last: int) -> dict[str, LogPaces]:
    """By event, how much more or less had gathered than the fit asks for when it was noted."""
    gained, start = Gathering(seasons, first, last).gained(fit.form)
    found = {}
    for event, days in seasons.days.items():
        middle, change, rows = at_event(gained, days, start)
        known = middle > 0
        rows, middle, change = rows[known], middle[known], change[known]
        found[event] = LogPaces(
            np.log(middle / fit.sums[event]),
            change / middle,
            tuple(seasons.stations[row] for row in rows),
            seasons.years[rows],
        )
    return found


def joined(parts: list[dict[str, LogPaces]]) -> dict[str, LogPaces]:
    """The log paces of several parts as one."""
    return {
        event: LogPaces(
            np.concatenate([part[event].values for part in parts]),
            np.concatenate([part[event].per_day for part in parts]),
            tuple(name for part in parts for name in part[event].stations),
            np.concatenate([part[event].years for part in parts]),
        )
        for event in parts[0]
    }


def spread_of(paces: LogPaces) -> float:
    """The spread with which 80 % of a stage's notes lie inside the 80 % interval.

    The interval is told in whole days, both ends in it: a note half a day beyond its end still lies inside.
    """
    if not len(paces.values):
        return 0.1
    beyond = np.maximum(np.abs(paces.values) - paces.per_day / 2, 0.0)
    return min(max(float(np.quantile(beyond, 0.8)) / NORMAL_80, 0.02), SPREAD_MOST)


def fit_shares(paces: dict[str, LogPaces], stage_of: dict[str, str]) -> Shares:
    """The make-up of the spread by maximum likelihood, stations taken as strangers to each other."""
    spreads = {stage_of[event]: spread_of(own) for event, own in paces.items()}
    stations = _by_station(paces, stage_of, spreads)
    searched = list(range(len(spreads))) if len(spreads) > 1 else []
    x = np.array([2.0] * len(spreads) + [0.0, 1.0, 0.0, 0.7])
    searched += list(range(len(spreads), len(x)))
    best, step = _misfit(x, stations, spreads), _STEP
    while step > _STEP_LEAST:
        better = False
        for i in searched:
            for way in (step, -step):
                tried = x.copy()
                tried[i] = np.clip(tried[i] + way, -4.0, 4.0)
                found = _misfit(tried, stations, spreads)
                if found < best - 1e-3:
                    x, best, better = tried, found, True
                    break
        step = step if better else step / 2
    return _shares(x, spreads)


@dataclass(frozen=True, eq=False)
class _Station:
    stages: list[str]
    seasons: list[int]
    values: Floats
    noise: Floats


def _by_station(
    paces: dict[str, LogPaces], stage_of: dict[str, str], spreads: dict[str, float]
) -> list[_Station]:
    rows: defaultdict[str, list[tuple[str, int, float, float]]] = defaultdict(list)
    for event, own in paces.items():
        stage = stage_of[event]
        values = np.clip(own.values, -CLIP * spreads[stage], CLIP * spreads[stage])
        noise = (PLAIN_DAYS * np.minimum(own.per_day, 0.1)) ** 2
        for name, year, value, error in zip(own.stations, own.years, values, noise, strict=True):
            rows[name].append((stage, int(year), float(value), float(error)))
    return [
        _Station(
            [row[0] for row in own],
            [row[1] for row in own],
            np.array([row[2] for row in own]),
            np.array([row[3] for row in own]),
        )
        for _, own in sorted(rows.items())
    ]


def _shares(x: Floats, spreads: dict[str, float]) -> Shares:
    """From unbounded numbers: a logit of each in_step, three logits of the parts, the log of the years."""
    count = len(spreads)
    parts = np.exp(np.append(x[count : count + 3], 0.0))
    parts = parts / parts.sum()
    in_step = {stage: float(1 / (1 + np.exp(-x[i]))) for i, stage in enumerate(spreads)}
    return Shares(
        spreads, in_step, float(parts[0]), float(parts[1]), float(np.exp(x[count + 3])), float(parts[2])
    )


def pace_of(shares: Shares) -> Pace:
    """The shares as a pack's pace."""
    return Pace.model_construct(
        spread=0.1,
        in_step=0.9,
        keeps=shares.keeps,
        fades=shares.fades,
        fades_years=shares.fades_years,
        alone=shares.alone,
        site=0.5,
        stages={
            stage: StagePace.model_construct(spread=spread, in_step=shares.in_step[stage])
            for stage, spread in shares.spreads.items()
        },
        parts={},
        source="",
    )


def _misfit(x: Floats, stations: list[_Station], spreads: dict[str, float]) -> float:
    """The negative log likelihood, without its constant."""
    pace = pace_of(_shares(x, spreads))
    total = 0.0
    for station in stations:
        at = points(zip(station.stages, station.seasons, [0.0] * len(station.stages), strict=True))
        own = np.array([pace.spread_of(stage) for stage in at.stages])
        known = covariance(pace, at, at) + np.diag(station.noise + pace.alone * own**2)
        lower = np.linalg.cholesky(known)
        total += float(np.sum(np.linalg.solve(lower, station.values) ** 2) / 2 + np.log(np.diag(lower)).sum())
    return total
