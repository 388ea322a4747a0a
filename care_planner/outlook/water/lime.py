"""What the grower told of the tap, in one unit; and how much rainwater the pots want."""

from care_planner.climate.gaps import Floats
from care_planner.collection.water import Tap, WaterFacts
from care_planner.outlook.water.rainwater import ALKALINITY_UNITS, blend


def tap_alkalinity(tap: Tap) -> float:
    """Alkalinity as mg/L CaCO3; where only total hardness is known, that as an upper guess."""
    if tap.alkalinity is not None:
        return tap.alkalinity * ALKALINITY_UNITS[tap.unit]
    assert tap.hardness_dh is not None
    return tap.hardness_dh * ALKALINITY_UNITS["dh"]


def rainwater_need(water: WaterFacts, et0_mm: Floats, area_m2: float) -> list[float]:
    """Litres of rainwater that pots of this area use each day ([days]), less the tap's part of a blend."""
    share = 1.0
    if water.tap is not None and not water.tap.softened:
        share -= blend(tap_alkalinity(water.tap), water.rain_alkalinity, water.target).tap_share
    return [float(et0) * area_m2 * share for et0 in et0_mm]
