"""What a plan says of a tree's stages."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from care_planner.rulebook.taxon import Stage
from care_planner.spans import NEVER
from care_planner.stages.members import TOO_FEW_YEARS, known_years, quantile, reached_share
from care_planner.years.state import TreeYears
from care_planner.years.witness import shared_by_answers


@dataclass(frozen=True, slots=True)
class StageRow:
    """A stage in a season: its 10, 50 and 90 % days (ordinals, None: not in these years) and the share of
    weather years that reach it (None: unknown)."""

    stage: str
    bbch: str
    season: int
    p10: int | None
    p50: int | None
    p90: int | None
    reached: float | None
    basis: Literal["observed", "unknown", "expected"]
    tree: str = ""


def stage_rows(years: TreeYears) -> list[StageRow]:
    """The stages of this season and the next; the tree is left open."""
    return [_shared_row(stage, step, years) for step in (0, 1) for stage in years.rules.stages.values()]


def _shared_row(stage: Stage, step: int, years: TreeYears) -> StageRow:
    name = (years.rules.id, "row", stage.id, step)
    return shared_by_answers(name, years, years.shared.kept, lambda seen: _stage_row(stage, step, seen))


def _stage_row(stage: Stage, step: int, years: TreeYears) -> StageRow:
    of = (stage.id, stage.bbch, years.frame.season + step)
    seen = years.history.stages.get((stage.id, years.frame.season + step))
    if seen is not None:
        return StageRow(*of, seen, seen, seen, 1.0, "observed")
    days = years.stage(stage.id, step)
    if known_years(days, years.frame.rows) < TOO_FEW_YEARS:
        return StageRow(*of, None, None, None, None, "unknown")
    if stage.flowering and years.facts.get(("bloom", step)) == "none":
        days = np.full_like(days, NEVER)
    early, middle, late = (_day(quantile(days, share)) for share in (0.1, 0.5, 0.9))
    return StageRow(*of, early, middle, late, round(reached_share(days), 3), "expected")


def _day(day: float) -> int | None:
    return int(day) if np.isfinite(day) else None
