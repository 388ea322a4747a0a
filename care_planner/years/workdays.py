"""Which days can be worked, which are liked, and what already lies on them."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Bools = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Workdays:
    """Flags for the days from `first_day` on."""

    first_day: int
    away: Bools
    favourite: Bools


def workdays(
    first_day: int, days: int, is_away: Callable[[int], bool], is_favourite: Callable[[int], bool]
) -> Workdays:
    """Ask the people once for every day of the span."""
    span = range(first_day, first_day + days)
    away = np.fromiter((is_away(day) for day in span), dtype=bool, count=days)
    favourite = np.fromiter((is_favourite(day) for day in span), dtype=bool, count=days)
    return Workdays(first_day, away, favourite)


Given = dict[tuple[str, int], frozenset[int]]
NO_DAYS: frozenset[int] = frozenset()


@dataclass
class Board:
    """The days given to each rule's work so far, so that other trees can join."""

    days: Given = field(default_factory=dict)
    _asked: Given = field(default_factory=dict)

    def given(self, rule: str, season: int) -> frozenset[int]:
        """The days on which any tree has this work in this season."""
        found = self.days.get((rule, season), NO_DAYS)
        self._asked[rule, season] = found
        return found

    def asked(self) -> Given:
        """What was asked for and answered since this was last called."""
        asked, self._asked = self._asked, {}
        return asked

    def still_says(self, asked: Given) -> bool:
        """Whether it would give the same answers now."""
        return all(self.days.get(key, NO_DAYS) == days for key, days in asked.items())

    def add(self, rule: str, season: int, day: int) -> None:
        """Put a tree's work on a day."""
        before = self.days.get((rule, season), NO_DAYS)
        if day not in before:
            self.days[rule, season] = before | {day}
