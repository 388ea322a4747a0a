"""A folder's inputs -> what its pots need and what its barrel gives."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from care_planner.folder.read_folder import Inputs
from care_planner.outlook.water.air import SiteAir
from care_planner.outlook.water.barrel_years import BarrelYears, barrel_years
from care_planner.outlook.water.lime import rainwater_need
from care_planner.outlook.water.need import Need, needs
from care_planner.plan import Plan

_FREEZING_MEAN_C = 0.0


@dataclass(frozen=True, eq=False)
class WaterNow:
    """A day's water: every tree's need, the air it rests on, the barrel, or why nothing is said of it."""

    today: int
    needs: Sequence[Need]
    air: SiteAir
    barrel: BarrelYears | None
    why_no_barrel: str


def water_now(inputs: Inputs, plan: Plan) -> WaterNow:
    """The water of the plan's day."""
    found, air = _needs_now(inputs, plan)
    return WaterNow(plan.today, found, air, *_barrel_now(inputs, air, found))


def _needs_now(inputs: Inputs, plan: Plan) -> tuple[list[Need], SiteAir]:
    """What every tree needs on the plan's day, the soonest first, and the air it rests on."""
    collection, today = inputs.collection, plan.today
    benches = {stand.tree: stand.bench for stand in plan.stands[today]}
    air = SiteAir(inputs.record, inputs.outlook, collection.site.latitude, collection.site.elevation_m)
    return needs(collection, inputs.entries, inputs.rulebook, air, benches, today), air


def _barrel_now(inputs: Inputs, air: SiteAir, found: list[Need]) -> tuple[BarrelYears | None, str]:
    """The barrel over the record's years for all pots together; or why it cannot be said."""
    barrel = inputs.collection.water.barrel
    if barrel is None:
        return None, ""
    rain = inputs.record.others.get("precip_mm")
    if rain is None or np.isnan(rain).all():
        return None, "Rain barrel: the weather record has no rain (precip_mm), so nothing can be said of it."
    area = sum(need.pot.area_m2 for need in found)
    lived = barrel_years(
        inputs.record.first_day,
        rain.tolist(),
        rainwater_need(inputs.collection.water, air.et0_mm, area),
        litres=barrel.litres,
        roof_m2=barrel.roof_m2,
        runoff=barrel.runoff,
        first_flush=barrel.first_flush_l,
        empty_months=_frost_months(inputs) if barrel.winter == "emptied" else frozenset(),
    )
    return lived, ""


def _frost_months(inputs: Inputs) -> frozenset[int]:
    """Months whose nights are at or under 0 degC on average."""
    record = inputs.record
    days = np.arange(record.first_day, record.end_day)
    months = (days - 719163).astype("datetime64[D]").astype("datetime64[M]").astype(np.int64) % 12 + 1
    return frozenset(
        month for month in range(1, 13) if np.nanmean(record.tmin_c[months == month]) <= _FREEZING_MEAN_C
    )
