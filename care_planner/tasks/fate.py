"""What became of a rule that has no day in a season of the plan."""

from dataclasses import dataclass

from care_planner.windows.reason import Reason
from care_planner.years.reasons import State


@dataclass(frozen=True, slots=True)
class Fate:
    """The state of its outcome, and why."""

    state: State
    reason: Reason | None
