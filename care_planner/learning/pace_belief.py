"""What is believed of one tree's pace, stage by stage and season by season."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from care_planner.rulebook.pack import TaxonRules
from care_planner.rulebook.taxon import Pace
from care_planner.stages.reach import Floats

# Means and spreads are rounded to these steps of log pace, a third to two thirds of a day: a note on one tree
# then changes nothing of a tree on which it has no say worth telling.
MEAN_STEP = 0.01
SPREAD_STEP = 0.005


@dataclass(frozen=True)
class PaceBelief:
    """Normal distributions of the log pace: (stage, season, mean, spread), sorted; equal ones are equal.

    What is not held here is the taxon's starting belief: mean 0 and its spread.
    """

    normals: tuple[tuple[str, int, float, float], ...] = ()

    def of(self, stage: str, season: int, pace: Pace) -> tuple[float, float]:
        """Mean and spread (standard deviation) of the log of a stage's pace in a season."""
        return self._by_key.get((stage, season), (0.0, pace.spread_of(stage)))

    @cached_property
    def _by_key(self) -> dict[tuple[str, int], tuple[float, float]]:
        return {(stage, season): (mean, spread) for stage, season, mean, spread in self.normals}


NOTHING_LEARNT = PaceBelief()


def paces_in_row(
    belief: PaceBelief, stage: str, season: int, rules: TaxonRules, scores: Floats, variety: float = 1.0
) -> Floats:
    """The pace of a stage in every member, [members], from the members' standard normal scores.

    `variety` multiplies the warmth that flowering stages need (early, mid and late varieties). Beliefs of
    single stages could make one overtake another; where a stage needs more of the very same warmth than
    another, a member's pace is at least what keeps it behind that one.
    """

    def alone(id: str) -> Floats:
        mean, spread = belief.of(id, season, rules.taxon.pace)
        flowers = id in rules.stages and rules.stages[id].flowering
        return np.asarray((variety if flowers else 1.0) * np.exp(mean + spread * scores))

    found = alone(stage)
    for before, part in rules.in_row.get(stage, ()):
        found = np.maximum(found, part * alone(before))
    return found


def belief_of(normals: Mapping[tuple[str, int], tuple[float, float]]) -> PaceBelief:
    """A belief from exact distributions by (stage, season), rounded."""
    return PaceBelief(
        tuple(
            sorted(
                (stage, season, _stepped(mean, MEAN_STEP), max(_stepped(spread, SPREAD_STEP), SPREAD_STEP))
                for (stage, season), (mean, spread) in normals.items()
            )
        )
    )


def _stepped(value: float, step: float) -> float:
    # Adding 0 makes -0 to 0; the outer rounding takes the binary dust off.
    return round(round(value / step) * step, 6) + 0.0
