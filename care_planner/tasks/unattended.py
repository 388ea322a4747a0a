"""Days on which nobody is there while trees want water every day."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from care_planner.tasks.model import Task

# A pot in leaf is dry in two summer days, so a longer absence wants somebody else (starting value).
SHORTEST_DAYS = 3
LOOKED_AHEAD_DAYS = 92
DAYS_BEFORE_TOLD = 7


@dataclass(frozen=True, slots=True)
class Absence:
    """Nobody is there from the first day to the last, both included (ordinals)."""

    first: int
    last: int

    @property
    def days(self) -> int:
        return self.last - self.first + 1

    def told_on(self, today: int) -> int:
        """A week before it, in time to find somebody; where that has passed the day before it."""
        early = self.first - DAYS_BEFORE_TOLD
        return early if early >= today else self.first - 1


def next_absence(tasks: Iterable[Task], is_away: Callable[[int], bool], today: int) -> Absence | None:
    """The next time, in some months from `today` (ordinal), for which somebody is to be found who waters."""
    daily = [task for task in tasks if task.way == "watch" and task.category == "water" and not task.done]
    end = today + LOOKED_AHEAD_DAYS
    day = today + 1
    while day <= end:
        if not is_away(day) or is_away(day - 1):
            day += 1
            continue
        last = day
        while is_away(last + 1) and last < day + LOOKED_AHEAD_DAYS:
            last += 1
        wants = any(task.day <= last and (task.until is None or task.until >= day) for task in daily)
        if last - day + 1 >= SHORTEST_DAYS and wants:
            return Absence(day, last)
        day = last + 1
    return None
