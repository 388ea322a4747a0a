"""Which of the next nights and days is an alarm: chance times loss against the trouble of going out.

A frost night is named by its evening; its low is the Tmin of the next day. Heat is named by its day. Each
has one identity, whatever later runs make of it: possible, firm, withdrawn. Silence means that a forecast was
there and was quiet; without one that is said, and a planned shelter day is never touched from here.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from care_planner.climate.forecast_error import chance_under
from care_planner.climate.outlook import Outlook, OutlookDay
from care_planner.outlook.watch.bench_sky import (
    NOTHING_READ,
    BenchNight,
    BenchUnderSky,
    Learned,
    bench_day,
    bench_night,
)
from care_planner.years.standing import STANDS_AHEAD, Because, Loss, Stand, Unnoted

Setting = Literal["cautious", "middle", "bold"]
Kind = Literal["frost", "heat"]
State = Literal["possible", "firm", "withdrawn", "blind"]

# The chance from which an alarm is worth its trouble where the tree is at stake: chosen on one half of the
# seasons of three records and counted on the other (tests/benchmarks/alarm_settings.py, see DEVELOPERS.md).
TROUBLE: Mapping[Setting, float] = {"cautious": 0.06, "middle": 0.20, "bold": 0.50}
# What is lost against a tree: starting values. A year of flowers is what the tree is grown for.
LOSSES: Mapping[Loss, float] = {"tree": 1.0, "flowers": 1.0, "growth": 0.8}
# An alarm that was written is withdrawn only when the chance has fallen well under what called for it.
_WITHDRAW_SHARE = 0.6
# From here on shade helps and a pot in the sun cooks its roots: common practice, no source.
HEAT_C = 35.0
# A night without a forecast is told where one year in fifty had a killing night about that date.
BLIND_CHANCE = 0.02
# A forecast older than this says little of tonight, since services make several a day: our choice.
STALE_AFTER_H = 36
# Until this hour of the site's day the night before is not over: the hours in which climate/forecast.py looks
# for a day's lowest.
NIGHT_ENDS_HOUR = 9


@dataclass(frozen=True)
class TreeRisk:
    """A tree in danger: the chance that its air passes its limit, and how far the forecast is from it.

    unnoted: it is so only where the tree still stands on `bench`, or is out there already: no note tells of
    its move.
    """

    tree: str
    bench: str
    limit_c: float
    margin_c: float  # expected minus limit for frost, limit minus expected for heat: negative is beyond it
    chance: float
    because: Because | Literal["heat"]
    loss: Loss
    unnoted: Unnoted = ""


@dataclass(frozen=True)
class NightWatch:
    """One night or hot day. `day`: the evening's ordinal, or the hot day's; `lead` of its forecast, days."""

    kind: Kind
    day: int
    state: State
    chance: float
    lead: int = 0
    benches: tuple[BenchNight, ...] = ()
    risks: tuple[TreeRisk, ...] = ()
    since: int = 0  # without a forecast: the day (ordinal) of the newest one, 0 where there never was one

    @property
    def key(self) -> str:
        """Its identity within the collection: the night, and nothing of what is thought of it."""
        return f"watch/{self.kind}/{self.day}"

    @property
    def is_alarm(self) -> bool:
        """Whether a person is called."""
        return self.state in ("possible", "firm", "blind")


def frost_watch(
    evening: int,
    standing: Mapping[str, Sequence[Stand]],
    benches: Mapping[str, BenchUnderSky],
    outlook: Outlook,
    setting: Setting,
    before: State | None = None,
    usual_chance: float = 0.0,
    learned: Learned = NOTHING_READ,
    is_stale: bool = False,
) -> NightWatch | None:
    """The watch of the night from `evening`; None where it is quiet and nothing was written of it before.

    `standing`: the trees by bench. `usual_chance`: how often the record had a killing night about this date.
    is_stale: the newest forecast is older than `STALE_AFTER_H`; it may call, but its silence says nothing.
    """
    expected = outlook.of(evening + 1)
    blind = None
    if evening <= outlook.today and usual_chance >= BLIND_CHANCE:
        since = outlook.issued.date().toordinal() if outlook.issued is not None else 0
        blind = NightWatch("frost", evening, "blind", usual_chance, since=since)
    if expected is None or np.isnan(expected.tmin_c):
        return blind
    nights = {name: bench_night(name, benches[name], expected, learned) for name in may_stand_on(standing)}
    risks = [_frost_risk(tree, nights, benches) for trees in standing.values() for tree in trees]
    found = _watch("frost", evening, risks, nights, expected, outlook, setting, before)
    return blind if is_stale and blind is not None and not (found and found.is_alarm) else found


def heat_watch(
    day: int,
    standing: Mapping[str, Sequence[Stand]],
    benches: Mapping[str, BenchUnderSky],
    outlook: Outlook,
    setting: Setting,
    before: State | None = None,
) -> NightWatch | None:
    """The watch of a hot day, as of the morning or the days before."""
    expected = outlook.of(day)
    if expected is None or np.isnan(expected.tmax_c):
        return None
    days = {name: bench_day(name, benches[name], expected) for name in standing}
    risks = [
        TreeRisk(
            *(tree.tree, bench, HEAT_C, HEAT_C - days[bench].expected_c),
            1.0 - chance_under(HEAT_C, days[bench].expected_c, days[bench].sd_c),
            "heat",
            "growth",
        )
        for bench, trees in standing.items()
        for tree in trees
    ]
    return _watch("heat", day, risks, days, expected, outlook, setting, before)


def watches(
    standing: Mapping[int, Mapping[str, Sequence[Stand]]],
    benches: Mapping[str, BenchUnderSky],
    outlook: Outlook,
    setting: Setting,
    before: Mapping[str, State],
    usual_chance: float = 0.0,
    learned: Learned = NOTHING_READ,
    is_stale: bool = False,
    under_way: bool = False,
) -> tuple[NightWatch, ...]:
    """The nights and hot days from today to two days ahead that are to be written. `standing`: by day.

    under_way: the night that ends this morning is not over and comes first, with the trees as of today.
    """

    def frost(day: int, there: Mapping[str, Sequence[Stand]]) -> NightWatch | None:
        was = before.get(f"watch/frost/{day}")
        return frost_watch(day, there, benches, outlook, setting, was, usual_chance, learned, is_stale)

    found = [frost(outlook.today - 1, standing[outlook.today])] if under_way else []
    for ahead in range(STANDS_AHEAD + 1):
        day = outlook.today + ahead
        there = standing[day]
        found.append(frost(day, there))
        found.append(heat_watch(day, there, benches, outlook, setting, before.get(f"watch/heat/{day}")))
    return tuple(watch for watch in found if watch is not None)


def may_stand_on(standing: Mapping[str, Sequence[Stand]]) -> list[str]:
    """The benches on which a tree stands or, where no note tells of its move, may stand."""
    doubtful = {tree.elsewhere for trees in standing.values() for tree in trees if tree.elsewhere}
    return sorted({*standing, *doubtful})


def _frost_risk(
    tree: Stand, nights: Mapping[str, BenchNight], benches: Mapping[str, BenchUnderSky]
) -> TreeRisk:
    """The risk where the plan has it; of two places on which it may stand, the more dangerous one."""
    found = _risk_on(tree, nights[tree.bench], benches[tree.bench])
    if not tree.elsewhere:
        return found
    other = _risk_on(tree, nights[tree.elsewhere], benches[tree.elsewhere])
    return replace(other, unnoted=tree.unnoted) if other.chance > found.chance else found


def _risk_on(tree: Stand, night: BenchNight, bench: BenchUnderSky) -> TreeRisk:
    # Within a floor the air never gets there, however the forecast errs.
    is_safe = bench.floor_c is not None and bench.floor_c > tree.limit_c
    chance = 0.0 if is_safe else chance_under(tree.limit_c, night.expected_c, night.sd_c)
    margin = night.expected_c - tree.limit_c
    return TreeRisk(tree.tree, night.bench, tree.limit_c, margin, chance, tree.because, tree.loss)


def _watch(
    kind: Kind,
    day: int,
    risks: Iterable[TreeRisk],
    at_benches: Mapping[str, BenchNight],
    expected: OutlookDay,
    outlook: Outlook,
    setting: Setting,
    before: State | None,
) -> NightWatch | None:
    trouble = TROUBLE[setting]
    known = sorted(risks, key=lambda risk: (-risk.chance, risk.tree))
    called = [risk for risk in known if risk.chance * LOSSES[risk.loss] >= trouble]
    stays = before in ("possible", "firm") and any(
        risk.chance * LOSSES[risk.loss] >= trouble * _WITHDRAW_SHARE for risk in known
    )
    if not called and stays:
        called = [risk for risk in known if risk.chance * LOSSES[risk.loss] >= trouble * _WITHDRAW_SHARE]
    if not called and before is None:
        return None
    state: State = "withdrawn"
    if called:
        state = "firm" if day <= outlook.today else "possible"
    shown = called or known[:1]
    chance = max((risk.chance for risk in shown), default=0.0)
    used = {risk.bench for risk in shown}
    nights = tuple(night for name, night in sorted(at_benches.items()) if name in used)
    return NightWatch(kind, day, state, chance, expected.lead, nights, tuple(shown))
