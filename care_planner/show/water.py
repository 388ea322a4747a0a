"""Water for a terminal of 80 columns: pots by when they are likely dry, the barrel, the blend."""

from collections.abc import Iterator

from care_planner.collection.water import Tap, WaterFacts
from care_planner.outlook.water.air import SiteAir
from care_planner.outlook.water.barrel_years import BarrelYears
from care_planner.outlook.water.lime import tap_alkalinity
from care_planner.outlook.water.need import Need
from care_planner.outlook.water.rainwater import Blend, blend, mixed
from care_planner.show.plan import wrapped
from care_planner.words.days import MONTHS, WEEKDAYS, weekday_words

_LOW_MM, _HIGH_MM = 2.0, 4.5
_MONDAY = 1  # 0001-01-01 was a Monday
LOOK = "A look decides: where the top 2 cm are still damp, wait; a dried-out pot wants a soak, not a pour."


def water_lines(needs: list[Need], air: SiteAir, today: int, site: str) -> Iterator[str]:
    """The order of the walk."""
    now = air.day(today)
    by = "from temperature only" if air.from_temperature_only or today >= air.record.end_day else "measured"
    yield from wrapped(
        f"{site}: water on {weekday_words(today)}. The air asks for {_word(now.et0_mm)} ({by})."
    )
    yield from wrapped(LOOK)
    for need in needs:
        yield ""
        yield from wrapped(f"{need.tree} ({need.bench}): {_when(need)}")
        yield from wrapped(
            f"{_use(need)}; look by {moment_words(today, need.look)}.{_twice(need)}", "  ", "  "
        )
        if not need.noted or need.pot.guessed:
            yield from wrapped(_assumed(need), "  ", "  ")


def barrel_lines(found: BarrelYears, litres: float) -> Iterator[str]:
    """The barrel over the record's years."""
    yield ""
    yield from wrapped(
        f"Rain barrel of {litres:g} L, lived through {found.years} years of the record: short of water on "
        f"{found.short_days_a_year:.0f} days a year. A day's water is taken before its rain."
    )
    yield "  month   short in     lowest: 1 year in 10   middle year"
    for month in found.months:
        yield (
            f"  {MONTHS[month.month - 1]:<8}{month.short_years:6.0%} of years{month.lowest_p10:14.0f} L"
            f"{month.lowest_p50:14.0f} L"
        )
    best = [f"{size:.0f} L: {days:.0f}" for size, days in found.larger]
    yield from wrapped(f"Days short a year with a larger one: {', '.join(best)}.")


def blend_lines(water: WaterFacts) -> Iterator[str]:
    """How much tap water the rainwater takes."""
    tap = water.tap
    if tap is None:
        return
    yield ""
    if tap.softened:
        yield from wrapped(
            "Softened water is refused: its hardness is low but its alkalinity is all still there, "
            "with sodium in place of lime. Take water from before the softener, or rain."
        )
        return
    alkalinity = tap_alkalinity(tap)
    told = tap.alkalinity is not None
    guess = (
        "" if told else " (a guess from total hardness, usually too high: ask the water firm for alkalinity)"
    )
    found = blend(alkalinity, water.rain_alkalinity, water.target)
    waters = f"tap {alkalinity:.0f}, rain {water.rain_alkalinity:g}, wanted {water.target:g} mg/L CaCO3"
    yield from wrapped(f"Lime: {waters}{guess}. {_blend_words(found, tap)}")
    yield from wrapped(
        "On rain alone feed calcium and magnesium. Acid lowers alkalinity too, but is for people trained to "
        "handle it; nothing is reckoned for it here."
    )


def _blend_words(found: Blend, tap: Tap) -> str:
    if found.why_not:
        return f"No blend: {found.why_not}."
    words = (
        f"In a 10 L can: {10 * found.tap_share:.1f} L of tap water, the rest rain ({found.tap_share:.0%})."
    )
    if tap.ec is not None:
        words += f" EC {mixed(tap.ec, 0.03, found.tap_share):.2f} dS/m."
    return words


def moment_words(today: int, days: float) -> str:
    """A moment so many days from the start of today: Thu noon."""
    day, part = today + int(days), days - int(days)
    name = "morning" if part < 0.4 else "noon" if part < 0.6 else "evening"
    if days < 1:
        return "this morning" if name == "morning" else "noon" if name == "noon" else "tonight"
    return f"{WEEKDAYS[(day - _MONDAY) % 7]} {name}"


def _when(need: Need) -> str:
    elapsed = need.today - need.dry.start
    early, likely, late = (end - elapsed for end in (need.dry.early, need.dry.likely, need.dry.late))
    if likely <= 0:
        return "likely dry by now"
    if likely > 10:
        return "likely damp for more than ten days by what is reckoned, which a look must confirm"
    ends = f"{_day(need.today, early)} to {_day(need.today, late)}"
    return f"likely dry by {moment_words(need.today, likely)} ({ends})"


def _day(today: int, days: float) -> str:
    if days <= 0:
        return "now"
    return WEEKDAYS[(today + int(days) - _MONDAY) % 7] if days < 7 else "a week on"


def _use(need: Need) -> str:
    low, middle, high = need.dry.litres_a_day
    k = (
        f", weighed {need.weighings} times"
        if need.weighings > 1
        else ", weighed once"
        if need.weighings
        else ""
    )
    return f"about {_litres(middle)} L a day ({_litres(low)} to {_litres(high)}{k})"


def _litres(value: float) -> str:
    return f"{value:.1f}" if value >= 0.1 else f"{value:.2f}"


def _twice(need: Need) -> str:
    return " It is hot: look twice, early and late." if need.twice else ""


def _assumed(need: Need) -> str:
    said = []
    if not need.noted:
        said.append("no watering is noted, so the pot counts as full this morning")
    if need.pot.guessed:
        said.append(f"{' and '.join(need.pot.guessed)} not known, so the usual is taken")
    return f"({'; '.join(said)})" if said else ""


def _word(et0_mm: float) -> str:
    level = "little" if et0_mm < _LOW_MM else "much" if et0_mm > _HIGH_MM else "a middling amount"
    return f"{level}, about {et0_mm:.1f} mm"
