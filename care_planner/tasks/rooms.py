"""The days on which the works of a tree may be laid, where people told their hours."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from care_planner.rulebook.rule import Loss, Rule, WithinRisk
from care_planner.tasks.drafts import minutes_of
from care_planner.tasks.lasting import lasts
from care_planner.tasks.rounds import dearest_of
from care_planner.years.outcome import Outcome
from care_planner.years.place import day_chance, least_apart
from care_planner.years.previous import SOON_DAYS, work_part
from care_planner.years.state import TreeYears

# Windows are looked at for no more days than this.
LONGEST_DAYS = 120
NOT_PUBLISHED = -1
# Work that comes again stays so near its rhythm.
DAYS_BESIDE_RHYTHM = 6


@dataclass(frozen=True, eq=False)
class Room:
    """Days one work may be laid on: chances from `first` on, a day each (-inf: not on that day); whether
    it is done in rain too; what it comes after, with gaps; the parts told together with it (`beside`).
    `day` is the one it has before it is laid, `stands` the one that was published (or NOT_PUBLISHED)."""

    part: str
    rule: str
    category: str
    loss: Loss
    minutes: int
    day: int
    stands: int
    first: int
    chances: tuple[float, ...]
    in_rain: bool
    after: tuple[tuple[str, int], ...]
    beside: tuple[str, ...] = ()

    @property
    def parts(self) -> tuple[str, ...]:
        return (self.part, *self.beside)


def rooms(years: TreeYears) -> list[Room]:
    """The works of a resolved tree that may be laid on several days."""
    found = []
    told_with: dict[tuple[str, int], Room] = {}
    for outcome in years.outcomes.values():
        rule = outcome.rule
        free = rule.way == "work" and not lasts(rule) and not isinstance(rule.choose, WithinRisk)
        if outcome.state != "planned" or outcome.window is None or not free:
            continue
        for room in _rooms_of(outcome, years):
            key = rule.together or "", outcome.step
            both = _both(told_with[key], room) if rule.together and key in told_with else room
            if rule.together and both is not None:
                told_with[key] = both
            else:
                found.append(room)
    return [*found, *told_with.values()]


def _rooms_of(outcome: Outcome, years: TreeYears) -> Iterator[Room]:
    """The room of a work of one day; of one that comes again a room for each time."""
    rule, window, today = outcome.rule, outcome.window, years.shared.today
    assert window is not None
    season, free_days = years.frame.season + outcome.step, years.shared.workdays
    for occurrence, first, last in _spans(outcome, today):
        part = work_part(rule.id, season, occurrence)
        day = dict(outcome.days)[occurrence]
        stands = _stands(part, day, first, last, years)
        before = years.previous.tasks.get(part)
        if before is not None and before.day == day == stands <= today + SOON_DAYS:
            first = last = day  # published, and near
        chances = tuple(
            day_chance(rule, window, one) if free_days.is_free(one) else -np.inf
            for one in range(first, last + 1)
        )
        if free_days.is_free(day) and max(chances) < 0:
            # Nobody is there in its window: the day beside it that was found is the only one.
            first, chances = day, (1.0,)
        yield Room(
            part,
            rule.id,
            rule.kind,
            rule.loss,
            minutes_of(rule, years, season, occurrence == outcome.days[0][0]),
            day,
            stands,
            first,
            chances,
            rule.in_rain,
            _comes_after(rule, season, occurrence),
        )


def _stands(part: str, day: int, first: int, last: int, years: TreeYears) -> int:
    """The day that stands: the one laid a moment ago, else the published one."""
    before = years.previous.tasks.get(part)
    if years.laid:
        return day if part in years.laid else NOT_PUBLISHED
    if before is not None and not before.left and first <= before.day <= last:
        return before.day
    return NOT_PUBLISHED


def _spans(outcome: Outcome, today: int) -> Iterator[tuple[int, int, int]]:
    """(occurrence, first day, last day) of each time a work may lie."""
    if outcome.may_lie is not None:
        first, last = outcome.may_lie
        yield 1, first, min(last, first + LONGEST_DAYS)
    elif outcome.rule.repeat is not None:
        for occurrence, day in outcome.days:
            yield occurrence, max(today, day - DAYS_BESIDE_RHYTHM), day + DAYS_BESIDE_RHYTHM


def _comes_after(rule: Rule, season: int, occurrence: int) -> tuple[tuple[str, int], ...]:
    """Parts that come first, each with the days between."""
    if occurrence > 1 and rule.repeat is not None:
        return ((work_part(rule.id, season, occurrence - 1), least_apart(rule.repeat.every_days)),)
    named = [(after.work, after.gap_days) for after in rule.after]
    named += [(id, rest.days) for rest in rule.rests for id in rest.after]
    return tuple((work_part(id, season, 1), gap) for id, gap in named)


def _both(one: Room, other: Room) -> Room | None:
    """Two works told together, as one; None where they have no day in common."""
    first = max(one.first, other.first)
    end = min(one.first + len(one.chances), other.first + len(other.chances))
    if first >= end:
        return None
    chances = zip(one.chances[first - one.first :], other.chances[first - other.first :], strict=False)
    return replace(
        one,
        loss=dearest_of((one.loss, other.loss)),
        minutes=one.minutes + other.minutes,
        stands=one.stands if one.stands == other.stands else NOT_PUBLISHED,
        first=first,
        chances=tuple(min(pair) for pair in chances),
        in_rain=one.in_rain and other.in_rain,
        after=tuple(dict.fromkeys((*one.after, *other.after))),
        beside=(*one.beside, other.part),
    )
