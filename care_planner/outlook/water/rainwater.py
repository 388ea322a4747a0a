"""A rain barrel by days, and tap water with rainwater for a wanted alkalinity."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

# Share of the rain on a roof's ground plan that comes down the pipe: measured over a year on roofs in Ontario
# 0.8 (TRCA/STEP wiki).
RUNOFF = 0.8
# mg/L CaCO3 for each unit: stoichiometry.
ALKALINITY_UNITS = {"mmol/l": 50.04, "dh": 17.85, "f": 10.0, "e": 14.3, "mg/l": 1.0, "hco3": 0.82}


@dataclass(frozen=True)
class BarrelDay:
    """What a day did to the barrel, all in litres."""

    inflow: float
    taken: float
    spilled: float
    held: float


def barrel_days(
    rain_mm: Sequence[float],
    *,
    roof_m2: float,
    size: float,
    start: float,
    demand: Sequence[float] | float,
    runoff: float = RUNOFF,
    first_flush: float = 0.0,
    spillage_first: bool = True,
) -> list[BarrelDay]:
    """The barrel day by day. A day without a reading (nan) brings nothing.

    spillage_first: yield after spillage, the more careful rule (a day's water is taken from what was there
    in the morning); else yield before spillage. Rules: Jenkins et al. 1978, Fewkes & Butler 2000.
    `first_flush` is lost of each day's rain.
    """
    held, days = start, []
    for number, rain in enumerate(rain_mm):
        caught = 0.0 if math.isnan(rain) else runoff * roof_m2 * rain
        inflow = max(caught - first_flush, 0.0)
        wanted = demand if isinstance(demand, (int, float)) else demand[number]
        if spillage_first:
            taken = min(wanted, held)
            spilled = max(held + inflow - size, 0.0)
            after = min(held + inflow - taken, size - taken)
        else:
            taken = min(wanted, held + inflow)
            after = min(held + inflow - taken, size)
            spilled = held + inflow - taken - after
        days.append(BarrelDay(inflow, taken, spilled, after))
        held = after
    return days


@dataclass(frozen=True)
class Blend:
    """Tap water's share (0 to 1) for the target, or why there is none."""

    tap_share: float
    why_not: str = ""


def blend(tap_mg_l: float, rain_mg_l: float, target_mg_l: float) -> Blend:
    """Tap and rain (alkalinity as mg/L CaCO3) mixed to a target: a balance of mass."""
    if tap_mg_l <= target_mg_l:
        return Blend(1.0, "the tap water is at or under the target as it is")
    if rain_mg_l >= target_mg_l:
        return Blend(0.0, "rainwater alone is at or above the target")
    return Blend((target_mg_l - rain_mg_l) / (tap_mg_l - rain_mg_l))


def mixed(tap: float, rain: float, tap_share: float) -> float:
    """Any value that mixes by mass, such as EC."""
    return tap_share * tap + (1 - tap_share) * rain
