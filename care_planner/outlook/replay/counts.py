"""Alarms counted against what came."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from care_planner.outlook.replay.season import LivedNight

# How long before the alarm of 16 h the day's forecast has been made and written: a starting value.
WRITTEN_HOURS_BEFORE = 2.0
PHONE_HOURS = (6, 12, 24)


@dataclass(frozen=True)
class Counts:
    """Nights of a season: how many hurt a tree, how many of these were called, and what was called in vain.

    early: true alarms that were written the day before or earlier; near: false alarms whose night came
    within 2 degC of a limit; silent_hurt: nights that hurt without a word.
    """

    nights: int
    hurt: int
    called: int
    false: int
    near: int
    early: int
    silent_hurt: tuple[int, ...]
    phones: tuple[tuple[int, float], ...]

    @property
    def share_called(self) -> float:
        """Of the nights that hurt, the part that was called the afternoon before; 1 where none hurt."""
        return self.called / self.hurt if self.hurt else 1.0

    @property
    def false_per_true(self) -> float:
        """False alarms for each true one; their number where there was no true one."""
        return self.false / max(self.called, 1)


def count(nights: Iterable[LivedNight]) -> Counts:
    """The counts of a season, or of several one after the other."""
    held: Sequence[LivedNight] = list(nights)
    hurt = [night for night in held if night.hurt]
    called = [night for night in hurt if night.is_alarm]
    false = [night for night in held if night.is_alarm and not night.hurt and night.close == night.close]
    early = [night for night in called if night.first_called < night.evening]
    return Counts(
        len(held),
        len(hurt),
        len(called),
        len(false),
        sum(1 for night in false if night.close <= 2.0),
        len(early),
        tuple(night.evening for night in hurt if not night.is_alarm),
        tuple((hours, _shown(len(called), len(early), hours)) for hours in PHONE_HOURS),
    )


def _shown(called: int, early: int, hours: int) -> float:
    """The part of the true alarms that a phone shows which fetches every so many hours, at no known moment.

    An alarm written the day before is there in any case. One of the same day is there if a fetch falls
    between its writing and 16 h.
    """
    if not called:
        return 1.0
    in_time = min(WRITTEN_HOURS_BEFORE / hours, 1.0)
    return (early + (called - early) * in_time) / called
