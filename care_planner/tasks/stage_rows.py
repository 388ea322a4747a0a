"""What plan.json says of a tree's stages."""

from datetime import date
from typing import Any

import numpy as np

from care_planner.rulebook.taxon import Stage
from care_planner.spans import NEVER
from care_planner.stages.members import TOO_FEW_YEARS, known_years, quantile, reached_share
from care_planner.years.state import TreeYears


def stage_rows(years: TreeYears) -> list[dict[str, Any]]:
    """What plan.json says of the stages of this season and the next."""
    return [_stage_row(stage, step, years) for step in (0, 1) for stage in years.rules.stages.values()]


def _stage_row(stage: Stage, step: int, years: TreeYears) -> dict[str, Any]:
    season = years.frame.season + step
    row: dict[str, Any] = {"stage": stage.id, "bbch": stage.bbch, "season": season}
    seen = years.history.stages.get((stage.id, season))
    if seen is not None:
        day = _day(seen)
        return {**row, "p10": day, "p50": day, "p90": day, "reached": 1.0, "basis": "observed"}
    days = years.stage(stage.id, step)
    if known_years(days, years.frame.rows) < TOO_FEW_YEARS:
        return {**row, "p10": None, "p50": None, "p90": None, "reached": None, "basis": "unknown"}
    if stage.flowering and years.facts.get(("bloom", step)) == "none":
        days = np.full_like(days, NEVER)
    dates = {f"p{share}": _day(quantile(days, share / 100)) for share in (10, 50, 90)}
    return {**row, **dates, "reached": round(reached_share(days), 3), "basis": "expected"}


def _day(day: float) -> str | None:
    return date.fromordinal(int(day)).isoformat() if np.isfinite(day) else None
