"""How far open a tree is on a day, in every member, and what a lever would do to it.

A lever is tried as the plan would have it: the tree is moved on paper and its years are resolved again. So
its effect is computed by the same warmth sum, and nobody has tried it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

import numpy as np

from care_planner.climate.weather_years import WeatherYears
from care_planner.collection.site import Bench
from care_planner.journal.model import Entry
from care_planner.rulebook.moment import Moment
from care_planner.rulebook.pack import Rulebook
from care_planner.spans import season_of
from care_planner.stages.members import quantile
from care_planner.stages.moments import evaluate
from care_planner.stages.reach import Floats
from care_planner.stages.weather import BenchWeather
from care_planner.years.profiles import Profile, resolve_profile
from care_planner.years.state import Shared, TreeYears

# A third to a half open is what a judge sees at its best: common practice.
FROM_SHARE, TO_SHARE = 0.33, 0.5
# A cold place for holding: 3 to 5 degC, frost-free (Mie Prefectural Agricultural Technology Center 1995, a
# satsuki in pots, held from mid-May and taken out 30 days before a summer date).
COLD_STORE, COLD_STORE_C = "cold-store", 4.0
HELD_BEFORE_DAYS = 30
# In practice 14 to 30 days are enough (from memory, confidence 0.5); later than that is never offered.
LATEST_BACK_DAYS = 14
# Beyond four weeks nothing is promised of any lever.
LONGEST_DAYS = 28
_STEPS = (7, 14, 21, 28)
# Buds show colour so long before the first flower is open, from where on cold holds them for days only: a
# starting value, since no pack has a stage for it.
COLOUR_BEFORE_DAYS = 7
# With less than this at best it is hopeless: a starting value.
HOPELESS = 0.05
# Roots cut within a year: no lever is offered.
_FRESH_DAYS = 365

Lever = Literal["warm-shelter", "cold-store"]
WhyNot = Literal["weak", "roots", "no-flowers", "passed", "unknown"]


@dataclass(frozen=True)
class Chance:
    """On the day: too early, as wanted, too far (shares of the known members, 0 to 1); and the days on which
    a third is open (ordinals, 10, 50 and 90 %)."""

    early: float
    wanted: float
    late: float
    third_open: tuple[float, float, float]


@dataclass(frozen=True)
class Tried:
    """A lever used for some days from `start` (ordinal): how the day of a third open moves (10, 50, 90 % of
    the members; later is positive), and the chance it leaves."""

    lever: Lever
    start: int
    days: int
    moves: tuple[float, float, float]
    chance: Chance


@dataclass(frozen=True)
class ShowBloom:
    """One tree and one show."""

    tree: str
    day: int
    chance: Chance | None
    tried: tuple[Tried, ...]
    why_not: WhyNot | None = None
    coloured: int | None = None  # the day (ordinal) of first colour, where it is too late for a cold place

    @property
    def best(self) -> float:
        """The best chance there is."""
        chances = [one.chance.wanted for one in self.tried] + ([self.chance.wanted] if self.chance else [])
        return max(chances, default=0.0)


def bloom_on(years: TreeYears, day: int) -> Chance | None:
    """How far open the tree is on a day; None where it does not flower, or nothing is known."""
    if years.curve is None:
        return None
    step = _step(years, day)
    third, half = (evaluate(Moment(share_open=share), step, years) for share in (FROM_SHARE, TO_SHARE))
    known = ~(np.isnan(third) | np.isnan(half))
    if not known.any() or not np.isfinite(third[known]).any():
        return None
    third, half = third[known], half[known]
    early, late = float(np.mean(third > day)), float(np.mean(half < day))
    middle = (quantile(third, 0.1), quantile(third, 0.5), quantile(third, 0.9))
    return Chance(early, 1.0 - early - late, late, middle)


def bloom_for_show(
    tree: str,
    profile: Profile,
    shared: Shared,
    weather_years: WeatherYears,
    rulebook: Rulebook,
    day: int,
) -> ShowBloom:
    """The chance of a tree on a day (ordinal), and what the lever that goes the right way would do."""
    today, years = shared.today, resolve_profile(profile, rulebook, shared)
    chance = bloom_on(years, day)
    why_not = _why_not(years, chance, day, today)
    if chance is None or why_not is not None:
        return ShowBloom(tree, day, chance, (), why_not or "unknown")
    lever: Lever = "warm-shelter" if chance.early > chance.late else "cold-store"
    trial = _trial(years, shared, weather_years, lever)
    if trial is None:
        return ShowBloom(tree, day, chance, ())
    there, bench = trial
    tried = []
    is_cold, colour = lever == "cold-store", _first_colour(years, day)
    latest = day - LATEST_BACK_DAYS if is_cold else day
    too_late = False
    for length in _STEPS:
        ends = day - HELD_BEFORE_DAYS if is_cold else day
        start = max(today + 1, ends - length)
        if start + length > latest:
            break
        if is_cold and start >= colour:
            too_late = True
            continue
        moved = resolve_profile(_moved(profile, tree, start, length, bench, years), rulebook, there)
        found = _moved_by(moved, years, day)
        if found is not None:
            tried.append(Tried(lever, start, length, *found))
    coloured = int(colour) if too_late and not tried else None
    return ShowBloom(tree, day, chance, tuple(tried), coloured=coloured)


def _moved_by(
    moved: TreeYears, years: TreeYears, day: int
) -> tuple[tuple[float, float, float], Chance] | None:
    """How the day of a third open moves (10, 50, 90 %), and the chance then; None where nothing is known."""
    after, shift = bloom_on(moved, day), _third(moved, day) - _third(years, day)
    known = shift[np.isfinite(shift)]
    if after is None or not known.size:
        return None
    return (quantile(known, 0.1), quantile(known, 0.5), quantile(known, 0.9)), after


def _first_colour(years: TreeYears, day: int) -> float:
    """The day on which buds show colour in half of the members; inf or nan where that is not known."""
    assert years.curve is not None
    return quantile(years.stage(years.curve.since, _step(years, day)), 0.5) - COLOUR_BEFORE_DAYS


def _third(years: TreeYears, day: int) -> Floats:
    return evaluate(Moment(share_open=FROM_SHARE), _step(years, day), years)


def _step(years: TreeYears, day: int) -> int:
    return season_of(day, years.frame.south) - years.frame.season


def _why_not(years: TreeYears, chance: Chance | None, day: int, today: int) -> WhyNot | None:
    """Why no lever is offered: a tree that must not be pushed, or nothing to push."""
    if day < today:
        return "passed"
    if years.facts.get(("bloom", _step(years, day))) == "none" or years.curve is None:
        return "no-flowers"
    if years.all_facts(_step(years, day))["condition"] == "weak":
        return "weak"
    worked = [
        outcome
        for outcome in years.outcomes.values()
        if outcome.rule.heavy and outcome.rule.kind == "roots" and outcome.counts
    ]
    if any(day - _FRESH_DAYS < outcome.day <= day for outcome in worked):
        return "roots"
    return "unknown" if chance is None else None


def _trial(
    years: TreeYears, shared: Shared, weather: WeatherYears, lever: Lever
) -> tuple[Shared, str] | None:
    """What trees share with the lever's place among the benches, and its name; None without such a place."""
    if lever == "warm-shelter":
        return (replace(shared, tracks={}), years.tree.winter_bench) if years.tree.winter_bench else None
    cold = np.full_like(weather.tmin_c, COLD_STORE_C)
    held = replace(weather, tmin_c=cold - 1, tmax_c=cold + 1, tmean_c=cold)
    return shared.with_bench(COLD_STORE, BenchWeather(held, Bench())), COLD_STORE


def _moved(profile: Profile, tree: str, start: int, length: int, to: str, years: TreeYears) -> Profile:
    """The tree held on a bench from a day on (ordinal), and then back on its own.

    Works that would move it in between are done on the day it comes back: the place holds the tree.
    """
    back = date.fromordinal(start + length)
    between = {
        outcome.rule.id
        for outcome in years.outcomes.values()
        if outcome.may_move and outcome.counts and start <= outcome.day < start + length
    }
    moves: Sequence[Entry] = (
        Entry(date=date.fromordinal(start), tree=tree, moved_to=to),
        *(Entry(date=back, tree=tree, did=rule) for rule in sorted(between)),
        Entry(date=back, tree=tree, moved_to=years.tree.bench),
    )
    return profile._replace(entries=(*profile.entries, *moves))
