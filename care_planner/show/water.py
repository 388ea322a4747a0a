"""Water for terminal and page: pots by when they are likely dry, the barrel, the blend."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from care_planner.collection.model import Collection
from care_planner.collection.water import Tap, WaterFacts
from care_planner.folder.water_now import WaterNow
from care_planner.outlook.water.barrel_years import BarrelYears
from care_planner.outlook.water.lime import tap_alkalinity
from care_planner.outlook.water.need import Need, Odd
from care_planner.outlook.water.rainwater import Blend, blend, mixed
from care_planner.show.passages import Passage
from care_planner.words.days import MONTHS, weekday_words

_LOW_MM, _HIGH_MM = 2.0, 4.5
# Within so many days a weekday's name can only be one day; further than ten days nothing is reckoned.
_NEAR_DAYS, _FAR_DAYS = 6, 10
_MOST_NAMED = 6
_ODD: Mapping[Odd, str] = {
    "lost nothing": "it weighed no less on the second. Was it watered or rained on in between?",
    "lost too much": "it lost more than any pot plant uses in a day. Is one of them mistyped?",
}
LOOK = "A look decides: where the top 2 cm are still damp, wait; a dried-out pot wants a soak, not a pour."


@dataclass(frozen=True, slots=True)
class HowToTell:
    """How whoever reads it notes a watering, and tells of a pot."""

    watered: str = "Note it: care-planner note FOLDER TREE watered"
    pot: str = "better tell pot: {litres: 5, soil: granules} and crown_cm: 40"


ON_A_PAGE = HowToTell(
    "Note it on the tree's own page: write “watered” under “A few words”.",
    "better ask the owner of the folder to tell its pot and how wide its crown is.",
)
IN_A_TERMINAL = HowToTell()


def water_blocks(
    water: WaterNow, collection: Collection, with_blend: bool = True, tell: HowToTell = IN_A_TERMINAL
) -> Iterator[Passage]:
    """The order of the walk, then the barrel and the blend where they are told."""
    yield Passage(_heading(water, collection.site.name), (LOOK, *_assumptions(water.needs, tell)))
    for alike in _alike(water.needs):
        trees = ", ".join(need.tree for need in alike)
        yield Passage(f"{trees} ({alike[0].bench}): {_when(alike[0])}", (_look(alike[0]),))
    barrel = collection.water.barrel
    if water.barrel is not None and barrel is not None:
        yield _barrel(water.barrel, barrel.litres)
    if water.why_no_barrel:
        yield Passage(water.why_no_barrel)
    if with_blend:
        yield from blend_blocks(collection.water)


def _heading(water: WaterNow, site: str) -> str:
    air, today = water.air, water.today
    by = "from temperature only" if air.from_temperature_only or today >= air.record.end_day else "measured"
    asks = _word(air.day(today).et0_mm)
    return f"{site}: water on {weekday_words(today)}. The air asks for {asks} ({by})."


def _assumptions(needs: Sequence[Need], tell: HowToTell) -> Iterator[str]:
    """What stands in for what was not told, once for all trees."""
    full = [need.tree for need in needs if not need.noted]
    if full:
        yield (
            f"No watering is noted of {_some(full, len(needs))} in these two weeks, so a pot counts as full "
            f"this morning. {tell.watered}"
        )
    guessed = [need.tree for need in needs if need.pot.guessed]
    if guessed:
        what = sorted({word for need in needs for word in need.pot.guessed})
        yield (
            f"Not told of {_some(guessed, len(needs))}: {', '.join(what)}. The usual for its size is taken; "
            f"{tell.pot}"
        )
    for need in needs:
        for day, why in need.unused:
            days = f"{weekday_words(day)} and the day after"
            yield f"The weights of {need.tree} on {days} are not used: {_ODD[why]}"


def _some(trees: Sequence[str], of: int) -> str:
    if len(trees) == of:
        return "any tree" if of > 1 else trees[0]
    return ", ".join(trees) if len(trees) <= _MOST_NAMED else f"{len(trees)} of {of} trees"


def _alike(needs: Sequence[Need]) -> list[list[Need]]:
    """Trees of one bench of which the same is said, in the order of the first."""
    groups: dict[tuple[str, ...], list[Need]] = {}
    for need in needs:
        groups.setdefault((need.bench, _when(need), _look(need)), []).append(need)
    return list(groups.values())


def _barrel(found: BarrelYears, litres: float) -> Passage:
    """The barrel over the record's years."""
    short = found.short_days_a_year
    said = "never short of water" if short < 0.5 else f"short of water on {short:.0f} days a year"
    rows = tuple(
        (
            MONTHS[month.month - 1],
            f"{month.short_years:.0%}",
            f"{month.lowest_p10:.0f} L",
            f"{month.lowest_p50:.0f} L",
        )
        for month in found.months
    )
    lines = ["A day's water is taken before its rain."]
    if short >= 0.5:
        best = [f"{size:.0f} L {days:.0f}" for size, days in found.larger]
        lines.append(f"Days short a year with a larger one: {', '.join(best)}.")
    return Passage(
        f"Rain barrel of {litres:g} L, by {found.years} years of the record: {said}",
        tuple(lines),
        head=("month", "years it runs dry", "lowest, 1 year in 10", "lowest, middle year"),
        rows=rows,
    )


def blend_blocks(water: WaterFacts) -> Iterator[Passage]:
    """How much tap water the rainwater takes."""
    tap = water.tap
    if tap is None:
        return
    if tap.softened:
        yield Passage(
            "Lime: softened water is refused",
            (
                "Its hardness is low but its alkalinity is all still there, with sodium in place of lime. "
                "Take water from before the softener, or rain.",
            ),
        )
        return
    alkalinity = tap_alkalinity(tap)
    told = tap.alkalinity is not None
    guess = (
        "" if told else " (a guess from total hardness, usually too high: ask the water firm for alkalinity)"
    )
    found = blend(alkalinity, water.rain_alkalinity, water.target)
    waters = f"tap {alkalinity:.0f}, rain {water.rain_alkalinity:g}, wanted {water.target:g} mg/L CaCO3"
    yield Passage(
        f"Lime: {waters}{guess}",
        (
            _blend_words(found, tap),
            "On rain alone feed calcium and magnesium. Acid lowers alkalinity too, but is for people trained "
            "to handle it; nothing is reckoned for it here.",
        ),
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
    """A moment so many days from the start of today: `Thu noon`, further off `Mon 7 Dec`."""
    part = days - int(days)
    name = "morning" if part < 0.4 else "noon" if part < 0.6 else "evening"
    if days < 1:
        return "this morning" if name == "morning" else "noon" if name == "noon" else "tonight"
    return f"{_day(today, days)} {name}" if days < _NEAR_DAYS else _day(today, days)


def _day(today: int, days: float) -> str:
    """A day by its name alone where that can only be one."""
    if days <= 0:
        return "now"
    if days < 1:
        return "today"
    words = weekday_words(today + int(days))
    return words[:3] if days < _NEAR_DAYS else words


def _when(need: Need) -> str:
    elapsed = need.today - need.dry.start
    early, likely, late = (end - elapsed for end in (need.dry.early, need.dry.likely, need.dry.late))
    if likely <= 0:
        return "likely dry by now"
    if likely > _FAR_DAYS:
        return "likely damp for more than ten days, but a look must confirm it"
    to = _day(need.today, late) if late <= _FAR_DAYS else f"after {weekday_words(need.today + _FAR_DAYS)}"
    return f"likely dry by {moment_words(need.today, likely)} ({_day(need.today, early)} to {to})"


def _look(need: Need) -> str:
    low, middle, high = need.dry.litres_a_day
    times = {0: "", 1: ", weighed once"}.get(need.weighings, f", weighed {need.weighings} times")
    twice = " It is hot: look twice, early and late." if need.twice else ""
    return (
        f"Look by {moment_words(need.today, need.look)}. It uses about {_litres(middle)} L a day "
        f"({_litres(low)} to {_litres(high)}{times}).{twice}"
    )


def _litres(value: float) -> str:
    return f"{value:.1f}" if value >= 0.15 else f"{value:.2f}"


def _word(et0_mm: float) -> str:
    level = "little" if et0_mm < _LOW_MM else "much" if et0_mm > _HIGH_MM else "a middling amount"
    return f"{level}, about {et0_mm:.1f} mm"
