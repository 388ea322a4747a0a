"""Events of trees whose tasks are those of the plan before: for who publishes after every note."""

from collections.abc import Callable, Sequence
from typing import Any

from care_planner.calendar.event import Event
from care_planner.calendar.events import Maker
from care_planner.tasks.model import Task


class KeptEvents:
    """The events last made for each tree, found again where both its tasks and the maker are the same."""

    def __init__(self) -> None:
        self._said: Any = None
        self._taxa: Any = None
        self._of: dict[str, tuple[Sequence[Task], list[Event]]] = {}

    def of(
        self, tree: str, tasks: Sequence[Task], make: Maker, made: Callable[[], list[Event]]
    ) -> list[Event]:
        """The kept events, or those `made` now and kept in their place."""
        said, taxa = make.says(), make.said.taxa
        if self._said != said or self._taxa is not taxa:
            self._said, self._taxa, self._of = said, taxa, {}
        # Tasks of a tree that nothing was noted of are the very same objects, so this takes no time.
        if tree not in self._of or self._of[tree][0] != tasks:
            self._of[tree] = tasks, made()
        return self._of[tree][1]
