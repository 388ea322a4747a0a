"""What is believed of one tree's pace, stage by stage and season by season."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from care_planner.rulebook.taxon import Pace

# Beliefs are rounded to this step of log pace, about half a day of spring: a note on one tree then changes
# nothing of a tree on which it has no say worth telling.
STEP = 0.01


@dataclass(frozen=True)
class TreeBelief:
    """Normal laws of the log of the pace: (stage, season, mean, spread), sorted; equal ones are equal.

    What is not held here is the taxon's starting belief: mean 0 and its spread.
    """

    laws: tuple[tuple[str, int, float, float], ...] = ()

    def of(self, stage: str, season: int, pace: Pace) -> tuple[float, float]:
        """Mean and spread (standard deviation) of the log of a stage's pace in a season."""
        return self._by_key.get((stage, season), (0.0, pace.spread_of(stage)))

    @cached_property
    def _by_key(self) -> dict[tuple[str, int], tuple[float, float]]:
        return {(stage, season): (mean, spread) for stage, season, mean, spread in self.laws}


NOTHING_LEARNT = TreeBelief()


def belief_of(laws: Mapping[tuple[str, int], tuple[float, float]]) -> TreeBelief:
    """A belief from exact laws by (stage, season), rounded."""
    return TreeBelief(
        tuple(
            sorted(
                (stage, season, _stepped(mean), max(_stepped(spread), STEP))
                for (stage, season), (mean, spread) in laws.items()
            )
        )
    )


def _stepped(value: float) -> float:
    # Adding 0 makes -0 to 0; the outer rounding takes the binary dust off.
    return round(round(value / STEP) * STEP, 6) + 0.0
