"""What became of one rule for one tree in one season."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from care_planner.rulebook.effect import Effect, NoRoom
from care_planner.rulebook.rule import Rule
from care_planner.spans import NEVER
from care_planner.windows.reason import Reason
from care_planner.windows.window import MemberWindow
from care_planner.years.kept import Kept
from care_planner.years.reasons import OtherWork, State

COUNTS: tuple[State, ...] = ("planned", "done", "presumed")


@dataclass(frozen=True, slots=True)
class Nights:
    """The day by which a night at the limit has come in a tenth and in half of the autumns, else None."""

    in_ten: int | None
    in_two: int | None


@dataclass(frozen=True, eq=False)
class Outcome:
    """The result for one rule in one season (as a step). Days are ordinals."""

    rule: Rule
    step: int
    state: State
    reason: Reason | None = None
    day: float = NEVER  # the first day that counts for what follows
    last_day: float = NEVER
    days: tuple[tuple[int, int], ...] = ()  # (occurrence, day) still to come
    aimed: Reason | None = None  # why that day within the window
    window: MemberWindow | None = None
    may_lie: tuple[int, int] | None = None  # the first and the last day on which one work may lie
    choice: NoRoom | None = None
    room: float = 1.0  # share of weather years with room, where there is a choice
    fact: str = ""  # the fact to be told
    late_after: float | None = None  # done after this day, on which its window had closed in half the members
    late_share: float = 0.0  # 0 to 1, what its late day costs of what the rule names
    # Works of which no note tells: it is right only where they were done (or were not).
    provided: tuple[tuple[str, bool], ...] = ()
    sees: Nights | None = None  # the cold nights that a move into shelter looks out for

    @cached_property
    def words(self) -> Kept[Any]:
        """What is told of it, found again by those that have the very same outcome."""
        return Kept()

    @cached_property
    def told(self) -> Hashable:
        """All that anything else may ask of it: the same where two outcomes cannot be told apart."""
        because = None if self.counts else repr(self.reason)
        days = (self.day, self.last_day, self.days, self.late_after)
        return self.rule.id, self.state, days, None if self.choice is None else id(self.choice), because

    @cached_property
    def may_move(self) -> bool:
        """Whether its rule moves a tree."""
        return any(effect.moves_to is not None for effect in self.rule.all_effects())

    @property
    def is_open(self) -> bool:
        """Whether it may have been done."""
        return self.state == "open"

    @property
    def counts(self) -> bool:
        """Whether what follows may rely on it."""
        return self.state in COUNTS

    def as_other(self) -> OtherWork:
        """What a reason of another work says of it."""
        return OtherWork(self.rule.id, self.state, self.day)

    @cached_property
    def effects(self) -> Sequence[Effect]:
        """What it changes, if it counts; a choice made for lack of room changes things even unworked."""
        own = [effect for effect in self.rule.effects if not effect.if_late or self.late_after is not None]
        if self.choice is None:
            return own if self.counts else []
        if self.counts:
            return [*own, *self.choice.effects]
        return list(self.choice.effects) if self.state == "no-room" and self.choice.work == "none" else []
