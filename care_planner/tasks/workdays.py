"""Which days can be worked, which are liked, and what already lies on them."""

from collections import Counter
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


@dataclass
class Board:
    """The days given to each rule's work so far, so that other trees can join."""

    days: dict[tuple[str, int], Counter[int]] = field(default_factory=dict)

    def given(self, rule: str, season: int) -> Counter[int]:
        """Days of this work in this season, with the number of trees on each."""
        return self.days.get((rule, season), Counter())

    def add(self, rule: str, season: int, day: int, trees: int) -> None:
        """Put so many trees' work on a day."""
        self.days.setdefault((rule, season), Counter())[day] += trees
