"""What a pot holds and loses: a reserve that ET0, crown and rain move.

Use in litres a day = K x ET0 x area, the area being the larger of crown and pot mouth seen from above. K is 1
until a weighing tells it: nothing published gives an azalea's, and pot crops ran from under 1 to over 5 in
one production (Regan 1996). It does not see the pot: what it says is when a look is due, with its range.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

Soil = Literal["granules", "peat"]

# Water between full and wilting's begin, share of the volume, with its range. Granules: a hobby test and no
# published curve, so weak; peat and bark mixes: nursery range 25 to 35 %, from memory.
AVAILABLE: dict[Soil, tuple[float, float, float]] = {
    "granules": (0.12, 0.20, 0.30),
    "peat": (0.20, 0.25, 0.35),
}
# Half of it is what may be used before a look: use begins to fall at about that (hydrangea 28 of 16 to 40 %).
SHARE_USED = 0.5
K_RANGE = (0.6, 1.0, 1.6)
# A weighing is one day of one plant: its K holds within this share until more are noted (starting value).
WEIGHED_RANGE = 0.25
# After a hard prune Ilex crenata used 40 % less at once and as before after 60 days (Regan 1996).
PRUNED_SHARE, PRUNED_DAYS = 0.6, 60
# Less rain than this wets leaves and surface only (from memory, confidence 0.6).
RAIN_COUNTS_FROM_MM = 2.0
# Only from about here may rain end a reminder: 8.75 mm refills half the reserve of a 7 cm tray.
RAIN_ENDS_FROM_MM = 10.0
# A 1 litre pot is about 13 cm wide, and width grows with the cube root of litres: common sizes.
_WIDTH_OF_LITRE_CM = 13.0
# A crown that nobody measured, as a share of the pot's width: a starting value.
_CROWN_TO_MOUTH = 1.5


@dataclass(frozen=True)
class PotFacts:
    """A pot and its crown. Areas in m2; `guessed` names what was not told."""

    litres: float
    mouth_m2: float
    crown_m2: float
    soil: Soil
    guessed: tuple[str, ...] = ()

    @property
    def area_m2(self) -> float:
        """What evaporates: crown or mouth, whichever is larger."""
        return max(self.mouth_m2, self.crown_m2)


@dataclass(frozen=True)
class PotWeather:
    """A day's ET0 and rain in mm, its high in degC, and whether that rain is only forecast."""

    day: int
    et0_mm: float
    rain_mm: float
    tmax_c: float = math.nan
    is_forecast: bool = False


@dataclass(frozen=True)
class DryAt:
    """When the reserve is likely used, in days since `start` (ordinal), with its early and late ends.

    litres_a_day: today's use, low, middle and high.
    """

    start: int
    early: float
    likely: float
    late: float
    litres_a_day: tuple[float, float, float]


def round_m2(width_cm: float) -> float:
    """The area of a circle of a width."""
    return math.pi * (width_cm / 200) ** 2


def pot_facts(
    litres: float | None,
    width_cm: float | None,
    depth_cm: float | None,
    crown_cm: float | None,
    soil: Soil | None,
    size: str,
) -> PotFacts:
    """A pot from what was told of it; what was not is filled in from what is usual, and named."""
    guessed = []
    if litres is None and width_cm is not None and depth_cm is not None:
        litres = round_m2(width_cm) * depth_cm * 10
    if litres is None:
        litres = 15.0 if size == "large" else 3.0
        guessed.append("pot")
    if width_cm is None:
        width_cm = _WIDTH_OF_LITRE_CM * litres ** (1 / 3)
    mouth = litres / (depth_cm * 10) if depth_cm is not None else round_m2(width_cm)
    if crown_cm is None:
        crown = mouth * _CROWN_TO_MOUTH**2
        guessed.append("crown")
    else:
        crown = round_m2(crown_cm)
    if soil is None:
        soil = "granules"
        guessed.append("soil")
    return PotFacts(litres, mouth, crown, soil, tuple(guessed))


def use_litres(k: float, et0_mm: float, area_m2: float) -> float:
    """Litres a day: a millimetre on a square metre is a litre."""
    return k * et0_mm * area_m2


def pruned_share(days_since: float) -> float:
    """What a crown uses after a hard prune, against before: 0.6 at once, all after 60 days."""
    if days_since < 0:
        return 1.0
    return min(PRUNED_SHARE + (1 - PRUNED_SHARE) * days_since / PRUNED_DAYS, 1.0)


def weighed_k(lost_kg: float, et0_mm: float, area_m2: float) -> float:
    """K of a plant that was weighed watered and drained, and again a day later (Dumroese et al. 2015)."""
    if et0_mm <= 0 or area_m2 <= 0:
        raise ValueError("a day without evaporation or a plant without an area says nothing of K")
    return lost_kg / (et0_mm * area_m2)


def dry_at(
    pot: PotFacts,
    days: Sequence[PotWeather],
    k: tuple[float, float, float] = K_RANGE,
    pruned_days_ago: float | None = None,
    today: int = 0,
) -> DryAt:
    """When a pot that was full at the start of `days` is likely dry; the last of them goes on for ever.

    `today`: the place of today among the days, for what it uses now. The early end waits for no rain that is
    only forecast.
    """
    low, middle, high = AVAILABLE[pot.soil]
    share = 1.0 if pruned_days_ago is None else pruned_share(pruned_days_ago)
    fallen = [replace(day, rain_mm=0.0) if day.is_forecast else day for day in days]
    early = _lasts(pot, fallen, k[2] * share, low, RAIN_ENDS_FROM_MM)
    likely = _lasts(pot, days, k[1] * share, middle, RAIN_COUNTS_FROM_MM)
    late = _lasts(pot, days, k[0] * share, high, RAIN_COUNTS_FROM_MM)
    use = tuple(use_litres(one * share, days[today].et0_mm, pot.area_m2) for one in k)
    return DryAt(days[0].day, early, likely, late, (use[0], use[1], use[2]))


def _lasts(pot: PotFacts, days: Sequence[PotWeather], k: float, available: float, rain_from: float) -> float:
    """Days until half the available water is used, rain counted; at most a year."""
    full = pot.litres * available * SHARE_USED
    reserve = full
    for number in range(366):
        weather = days[min(number, len(days) - 1)]
        is_rain = number < len(days) and weather.rain_mm >= rain_from
        rain = weather.rain_mm if is_rain else 0.0
        use = use_litres(k, max(weather.et0_mm, 0.0), pot.area_m2)
        # Rain on the mouth only, and never more left at night than what fills the pot.
        there = reserve + rain * pot.mouth_m2
        if use >= there:
            return number + there / use if use > 0 else math.inf
        reserve = min(there - use, full)
    return 366.0
