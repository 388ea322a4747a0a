"""What became of one rule for one tree in one season."""

from dataclasses import dataclass
from typing import Literal

from care_planner.rulebook.effect import Effect, NoRoom
from care_planner.rulebook.rule import Rule
from care_planner.spans import NEVER
from care_planner.windows.window import MemberWindow

State = Literal[
    "planned",  # it has a day, today or later
    "done",  # noted in the journal
    "presumed",  # its time has passed without a note and the rule says that it counts as done
    "past",  # its time has passed without a note: it counts as not done
    "lost",  # a fact, a block or another work stands against it
    "away",  # everyone is away for the whole of its window, and around it
    "asked",  # a fact it needs was not told
    "rare",  # it comes in less than half of the weather years
    "no-room",  # it would close before it opens, and the goal's choice is to leave it
    "unknown",  # the weather it needs is not there
]
COUNTS: tuple[State, ...] = ("planned", "done", "presumed")


@dataclass(frozen=True, eq=False)
class Outcome:
    """The result for one rule in one season (as a step). Days are ordinals."""

    rule: Rule
    step: int
    state: State
    reason: str = ""
    day: float = NEVER  # the first day that counts for what follows
    last_day: float = NEVER
    days: tuple[tuple[int, int], ...] = ()  # (occurrence, day) still to come
    aimed: str = ""  # why that day within the window
    window: MemberWindow | None = None
    choice: NoRoom | None = None
    room: float = 1.0  # share of weather years with room, where there is a choice
    fact: str = ""  # the fact to be told
    late_after: float | None = None  # done after this day, on which its window had closed in half the members

    @property
    def counts(self) -> bool:
        """Whether what follows may rely on it."""
        return self.state in COUNTS

    def effects(self) -> list[Effect]:
        """What it changes, if it counts; a choice made for lack of room changes things even unworked."""
        own = [effect for effect in self.rule.effects if not effect.if_late or self.late_after is not None]
        if self.choice is None:
            return own if self.counts else []
        if self.counts:
            return [*own, *self.choice.effects]
        return list(self.choice.effects) if self.state == "no-room" and self.choice.work == "none" else []
