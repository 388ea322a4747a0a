"""Whether it is right to take the warming out of old years also where frost is at stake, on an open record.

Source: Japan Meteorological Agency, daily temperatures of Utsunomiya 1976 to 2025 (tests/data/SOURCES.md).
Each autumn is planned from the years before it only, and held against what came.
"""

from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np
import pytest
from planning import SATSUKI, rulebook
from test_bloom import record

from care_planner.collection.model import Collection
from care_planner.plan import make_plan

FIRST_AUTUMN, LAST_AUTUMN = 1997, 2024
ACCEPTED = 0.1


def shelter_days(autumn: int, take_out_warming: bool) -> tuple[int, int]:
    """The planned last day outside for a limit of 0 degC, and the day of the first such night."""
    whole = record("utsunomiya")
    made = date(autumn, 9, 1).toordinal()
    known = made - whole.first_day
    parts = {name: getattr(whole, name)[:known] for name in ("tmin_c", "tmax_c", "tmean_c")}
    taken = "yes" if take_out_warming else "no"
    site = {"latitude": 36.55, "longitude": 0.0, "timezone": "UTC", "weather": "x.csv"}
    tree = {**SATSUKI, "frost_limit_c": 0.0, "last_repot": {"date": f"{autumn}-03-01"}}
    kept = Collection.model_validate(
        {"site": {**site, "take_out_warming": taken}, "benches": {"open": {}}, "trees": [tree]}
    )
    plan = make_plan(kept, [], replace(whole, **parts), rulebook(), made)
    (day,) = (t.day for t in plan.tasks if (t.rule, t.season) == ("shelter", autumn))
    nights = np.flatnonzero(whole.tmin_c[known : known + 200] <= 0.0)
    return day, made + int(nights[0])


@cache
def autumns(take_out_warming: bool) -> list[tuple[int, int]]:
    return [shelter_days(autumn, take_out_warming) for autumn in range(FIRST_AUTUMN, LAST_AUTUMN + 1, 2)]


@pytest.mark.parametrize("take_out_warming", [True, False])
def test_reference_the_accepted_risk_holds_in_autumns_not_yet_seen(take_out_warming: bool) -> None:
    caught = np.mean([day >= night for day, night in autumns(take_out_warming)])
    # 14 autumns at one in ten: more than three caught would be unlikely (about 4 %).
    assert caught * len(autumns(take_out_warming)) <= 3


def test_trees_stay_out_longer_without_the_warming() -> None:
    """What it is for: as things were half a century ago, trees would go in weeks before the first frost."""
    waits = [np.mean([night - day for day, night in autumns(taken)]) for taken in (True, False)]
    assert waits[0] < waits[1] - 3
