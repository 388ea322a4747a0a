"""Where a tree stands on a day and what cold it bears there: its age, its roots, its buds, its flowers."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from care_planner.spans import season_of
from care_planner.stages.members import quantile
from care_planner.years.previous import work_part
from care_planner.years.state import BenchMoves, TreeYears, bench_on

Because = Literal["told", "hardened", "young", "roots", "buds", "shoots", "flowers"]
Loss = Literal["tree", "flowers", "growth"]
# A move of which no note tells: "in" where it may still stand outside, "out" where it may be out already.
Unnoted = Literal["", "in", "out"]

# Swelling buds, and shoots and petals that are out, die in a frost that the resting tree does not feel:
# common practice; the degrees are starting values.
BUDS_LIMIT_C, OPEN_LIMIT_C = -2.0, 0.0
# A stage counts as soon as one member in ten has it: a shoot that is out early is the one that freezes.
_AS_SOON_AS = 0.1
_SHOOTS = ("bud-break", "new-leaves", "leaf-out", "flush")
_HARD_AGAIN = "end-of-growth"
# Cut roots are not what they were until they have grown through a whole year: a starting value.
_ROOTS_FRESH_DAYS = 365
# The nights that a plan says this of: tonight and the two after it.
STANDS_AHEAD = 2


@dataclass(frozen=True, order=True, slots=True)
class Stand:
    """A tree on its bench on a day: the air it must not meet there (degC), why, and what is at stake.

    `bench` is where the plan has it; `elsewhere` the bench on which it may be instead, since no note tells of
    its move ("" where there is no such doubt).
    """

    tree: str
    bench: str
    limit_c: float
    because: Because
    loss: Loss
    unnoted: Unnoted = ""
    elsewhere: str = ""


def next_stands(years: TreeYears) -> tuple[Stand, ...]:
    """Where a tree stands today and on the `STANDS_AHEAD` days after, without its name."""
    today = years.shared.today
    return tuple(stand_on(years, day) for day in range(today, today + STANDS_AHEAD + 1))


def stand_on(years: TreeYears, day: int) -> Stand:
    """Where a tree stands on a day (ordinal), without its name."""
    step = season_of(day, years.frame.south) - years.frame.season
    moves = years.moves(max(step, 0) + 1)
    bench = bench_on(day, years, moves)
    limit_c, because, loss = _limit(years, step, day)
    unnoted, elsewhere = _in_doubt(years, day, bench, moves)
    return Stand("", bench, limit_c, because, loss, unnoted, elsewhere)


def as_planned(standing: Iterable[Stand]) -> tuple[Stand, ...]:
    """The trees where the plan has them, as if every move was made on its day."""
    return tuple(replace(one, unnoted="", elsewhere="") for one in standing)


def _in_doubt(years: TreeYears, day: int, bench: str, moves: BenchMoves) -> tuple[Unnoted, str]:
    """Whether no note tells of the move on which the plan's bench rests, and where the tree is without it.

    What the grower chose to have taken as done ("presumed") is no doubt.
    """
    winter = years.tree.winter_bench
    if winter is None or bench != winter:
        return "", ""
    unnoted = {
        (int(one.day), winter)
        for one in years.outcomes.values()
        if one.may_move and one.state in ("open", "planned") and np.isfinite(one.day)
    } - set(years.history.moves)
    without = bench_on(day, years, [move for move in moves if move not in unnoted])
    if without != winter:
        return "in", without
    return ("out", years.tree.bench) if _is_out_by_the_calendar(years) else ("", "")


def _is_out_by_the_calendar(years: TreeYears) -> bool:
    """Whether a day on which the calendar brought it out has passed, no note tells of it, and a later day has
    taken its place: who went by the calendar has it outside."""
    for (id, step), outcome in years.outcomes.items():
        if outcome.state != "planned" or not outcome.rule.moves("bench"):
            continue
        season = years.frame.season + step
        before = years.previous.tasks.get(work_part(id, season, 1))
        if before is None or before.left or (id, season) in years.history.put_off:
            continue
        passed = before.move.unnoted if before.move is not None else 0
        passed = passed or (before.day if before.day < years.shared.today else 0)
        if passed and not any(at >= passed for at, _ in years.history.moves):
            return True
    return False


def _limit(years: TreeYears, step: int, day: int) -> tuple[float, Because, Loss]:
    taxon, roots = years.rules.taxon, _roots_are_fresh(years, day)
    own = years.tree.frost_limit(taxon, roots)
    because: Because = "hardened"
    if years.tree.frost_limit_c is not None:
        because = "told"
    elif roots and own == taxon.frost_limit_c.roots_worked:
        because = "roots"
    elif years.tree.age != "established" and own != taxon.frost_limit_c.hardened:
        because = "young"
    found: list[tuple[float, Because, Loss]] = [(own, because, "tree")]
    days = {id: _from(years, id, step) for id in ("bud-swell", "first-flower", "end-of-bloom", *_SHOOTS)}
    hard_again = quantile(years.stage(_HARD_AGAIN, step), 0.5)
    if days["bud-swell"] <= day < hard_again:
        loss: Loss = "flowers" if years.facts.get(("buds", step)) == "present" else "growth"
        found.append((BUDS_LIMIT_C, "buds", loss))
    if any(days[id] <= day < hard_again for id in _SHOOTS):
        found.append((OPEN_LIMIT_C, "shoots", "growth"))
    if days["first-flower"] <= day <= quantile(years.stage("end-of-bloom", step), 0.9):
        found.append((OPEN_LIMIT_C, "flowers", "flowers"))
    return max(found, key=lambda one: one[0])


def _roots_are_fresh(years: TreeYears, day: int) -> bool:
    """Whether roots were cut within the year before: not yet by what is only planned for the spring."""
    return any(
        day - _ROOTS_FRESH_DAYS < outcome.day <= day
        for outcome in years.outcomes.values()
        if outcome.rule.heavy and outcome.rule.kind == "roots" and outcome.counts
    )


def _from(years: TreeYears, stage: str, step: int) -> float:
    """The day from which a stage may be there; nan, so never, where it is unknown or not of the taxon."""
    return quantile(years.stage(stage, step), _AS_SOON_AS)


def benches_of(standing: Iterable[Stand]) -> Mapping[str, tuple[Stand, ...]]:
    """The trees by bench."""
    found: dict[str, list[Stand]] = {}
    for one in standing:
        found.setdefault(one.bench, []).append(one)
    return {bench: tuple(trees) for bench, trees in sorted(found.items())}
