"""How far one pace tells of another: between stages, seasons and trees of one taxon on one site."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from care_planner.rulebook.taxon import Pace
from care_planner.stages.reach import Floats, Ints


@dataclass(frozen=True, eq=False)
class Points:
    """Paces of stages in seasons, [n] each: of one tree, or means over `trees` other trees of the site."""

    stages: tuple[str, ...]
    seasons: Ints
    others: Floats  # 0 for the tree's own, else how many other trees the mean is over

    def __len__(self) -> int:
        return len(self.stages)

    def joined(self, more: "Points") -> "Points":
        """These and then the others."""
        return Points(
            self.stages + more.stages,
            np.concatenate([self.seasons, more.seasons]),
            np.concatenate([self.others, more.others]),
        )


def points(rows: Iterable[tuple[str, int, float]]) -> Points:
    """Points from (stage, season, other trees)."""
    rows = list(rows)
    return Points(
        tuple(row[0] for row in rows),
        np.array([row[1] for row in rows], dtype=np.int64),
        np.array([row[2] for row in rows], dtype=np.float64),
    )


def covariance(pace: Pace, a: Points, b: Points) -> Floats:
    """Between two sets of log paces, [a, b], without what is of one note alone.

    The product of three correlations and the two spreads. Stages: one factor in common, each in step with
    it as the pack says; nothing in common between parts of the year. Seasons: a part that stays, one that
    fades with the years, one of the season. Trees: what the site's trees share, and their own. Of the latter
    a mean over n trees keeps 1/n; with a mean over some of the same trees it has 1/n of the larger number in
    common.
    """
    names = {name: i for i, name in enumerate(sorted({*a.stages, *b.stages}))}
    spread = np.array([pace.spread_of(name) for name in names])
    step = np.array([pace.in_step_of(name) for name in names])
    i = np.array([names[name] for name in a.stages], dtype=np.int64)
    j = np.array([names[name] for name in b.stages], dtype=np.int64)
    stages = np.where(i[:, None] == j[None, :], 1.0, step[i][:, None] * step[j][None, :])
    part_names = [pace.part_of(name) for name in names]
    part = np.array([part_names.index(name) for name in part_names], dtype=np.int64)
    stages = np.where(part[i][:, None] == part[j][None, :], stages, 0.0)
    # Within a part both stages are made up alike, so either's numbers will do.
    keeps, fades, fades_years, of_note = (
        np.array([getattr(pace.made_of(name), key) for name in names])[i][:, None]
        for key in ("keeps", "fades", "fades_years", "alone")
    )
    apart = np.abs(a.seasons[:, None] - b.seasons[None, :])
    season = np.maximum(1.0 - keeps - fades - of_note, 0.0)
    seasons = keeps + fades * np.exp(-apart / fades_years) + season * (apart == 0)
    own = (a.others[:, None] == 0) & (b.others[None, :] == 0)
    both = (a.others[:, None] > 0) & (b.others[None, :] > 0)
    more = np.maximum(np.maximum(a.others[:, None], b.others[None, :]), 1.0)
    same_trees = np.where(own, 1.0, np.where(both, 1.0 / more, 0.0))
    trees = pace.site + (1.0 - pace.site) * same_trees
    found: Floats = stages * seasons * trees * spread[i][:, None] * spread[j][None, :]
    return found


def alone(pace: Pace, at: Points) -> Floats:
    """The variance of each point that is of one note alone, [n]."""
    spread = np.array([pace.spread_of(stage) for stage in at.stages])
    of_note = np.array([pace.made_of(stage).alone for stage in at.stages])
    found: Floats = of_note * spread**2 / np.maximum(at.others, 1.0)
    return found
