"""Rain of the next days against the works that want a dry day, and the looks that want a wet one.

A published day does not move for rain: how much falls is too uncertain for that. A person is told, and moves.
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from care_planner.climate.outlook import Outlook
from care_planner.plan import Plan

# Amounts of later days say little: a starting value.
RAIN_DAYS_AHEAD = 5
# From so much on a mix in the hands gets wet and a spray is washed off; under the other a day is dry enough.
# Starting values.
WET_MM, DRY_MM = 2.0, 0.5
# Works that want a dry day: open soil and cut roots, and whatever is sprayed or washed on.
_DRY_KINDS = ("roots", "health")


@dataclass(frozen=True)
class WetWork:
    """A work whose planned day is wet, and dry days (ordinals) of the forecast that its window holds too."""

    title: str
    trees: tuple[str, ...]
    day: int
    rain_mm: float
    dry_days: tuple[int, ...]


@dataclass(frozen=True)
class RainAhead:
    """Wet days with their rain (ordinal, mm), the works on them, and what to look for after them."""

    days: tuple[tuple[int, float], ...] = ()
    works: tuple[WetWork, ...] = ()
    looks: tuple[tuple[str, tuple[str, ...]], ...] = ()  # titles with their trees


def rain_ahead(plan: Plan, outlook: Outlook) -> RainAhead:
    """What the rain of the next days means for planned works and for looks in force."""
    rain = dict(_rain(outlook))
    wet = {day: fallen for day, fallen in rain.items() if fallen >= WET_MM}
    if not wet:
        return RainAhead()
    works: defaultdict[tuple[int, str, tuple[int, ...]], list[str]] = defaultdict(list)
    looks: defaultdict[str, list[str]] = defaultdict(list)
    for task in plan.tasks:
        if task.way == "watch" and task.category == "health" and _is_on(task.day, task.until, wet):
            looks[task.title].append(task.tree)
        elif task.way == "work" and task.kind == "work" and task.category in _DRY_KINDS and task.day in wet:
            works[task.day, task.title, tuple(_dry_days(task.window.opens, task.window.closes, rain))].append(
                task.tree
            )
    return RainAhead(
        tuple(sorted(wet.items())),
        tuple(
            WetWork(title, tuple(sorted(trees)), day, wet[day], dry)
            for (day, title, dry), trees in sorted(works.items())
        ),
        tuple((title, tuple(sorted(set(trees)))) for title, trees in sorted(looks.items())),
    )


def _rain(outlook: Outlook) -> Iterator[tuple[int, float]]:
    for ahead in range(RAIN_DAYS_AHEAD + 1):
        expected = outlook.of(outlook.today + ahead)
        if expected is not None and not math.isnan(expected.rain_mm):
            yield expected.day, expected.rain_mm


def _is_on(day: int, until: int | None, wet: Iterable[int]) -> bool:
    return day <= max(wet) and (until is None or until >= min(wet))


def _dry_days(opens: int | None, closes: int | None, rain: Mapping[int, float]) -> Iterator[int]:
    for day, fallen in sorted(rain.items()):
        if fallen < DRY_MM and (opens is None or day >= opens) and (closes is None or day <= closes):
            yield day
