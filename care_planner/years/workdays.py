"""Which days can be worked, which are liked, and what already lies on them."""

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

Bools = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Workdays:
    """Flags for the days from `first_day` on."""

    first_day: int
    away: Bools
    favourite: Bools

    def is_free(self, day: int) -> bool:
        """Whether a day (ordinal) may be worked, as far as this is known."""
        column = day - self.first_day
        return not (0 <= column < self.away.size and self.away[column])

    def without(self, spans: Iterable[tuple[int, int]]) -> "Workdays":
        """The days without those from the first to the last (ordinals) of some spans."""
        away = self.away.copy()
        for first, last in spans:
            away[max(first - self.first_day, 0) : max(last - self.first_day + 1, 0)] = True
        return replace(self, away=away)


def workdays(
    first_day: int, days: int, is_away: Callable[[int], bool], is_favourite: Callable[[int], bool]
) -> Workdays:
    """Ask the people once for every day of the span."""
    span = range(first_day, first_day + days)
    away = np.fromiter((is_away(day) for day in span), dtype=bool, count=days)
    favourite = np.fromiter((is_favourite(day) for day in span), dtype=bool, count=days)
    return Workdays(first_day, away, favourite)


Given = dict[tuple[str, int], Counter[int]]


@dataclass
class Board:
    """The days given to each rule's work so far, so that other trees can join."""

    days: Given = field(default_factory=dict)
    _asked: Given = field(default_factory=dict)

    def given(self, rule: str, season: int) -> Counter[int]:
        """Days of this work in this season, with the number of trees on each."""
        found = self.days.get((rule, season), Counter())
        self._asked[rule, season] = found.copy()
        return found

    def asked(self) -> Given:
        """What was asked for and answered since this was last called."""
        asked, self._asked = self._asked, {}
        return asked

    def still_says(self, asked: Given) -> bool:
        """Whether it would give the same answers now."""
        nothing: Counter[int] = Counter()
        return all(self.days.get(key, nothing) == days for key, days in asked.items())

    def add(self, rule: str, season: int, day: int, trees: int) -> None:
        """Put so many trees' work on a day."""
        self.days.setdefault((rule, season), Counter())[day] += trees
