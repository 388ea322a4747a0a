"""What a re-plan says of a move can have caused it, and a look left alone does not nag each day."""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
from planning import SATSUKI, as_published, collection, entries, made_record, rulebook

from care_planner.plan import Plan, make_plan
from care_planner.show.changes import change_lines
from care_planner.tasks.lasting import lasts
from care_planner.words.moves import cause_words
from care_planner.years.move import ClearlyBetter, Move
from care_planner.years.previous import NO_PREVIOUS, PreviousPlan

TREE = {**SATSUKI, "multicoloured": "no", "last_repot": {"date": "2010-03-20"}}
# Three trees, so that whatever the goal something moves.
TREES = [{**TREE, "id": goal[0], "goal": goal} for goal in ("flowers", "vigour", "balanced")]


def planned(
    today: date,
    notes: Sequence[dict[str, Any]] = (),
    before: PreviousPlan = NO_PREVIOUS,
    warmer_spring_c: float = 0.0,
    trees: Sequence[dict[str, Any]] = TREES,
) -> tuple[Plan, PreviousPlan]:
    """A plan on the made record, its spring of 2013 so much warmer."""
    day, record = today.toordinal(), made_record()
    days = record.first_day + np.arange(len(record.tmin_c))
    spring = (days >= date(2013, 3, 1).toordinal()) & (days < date(2013, 5, 8).toordinal())
    added = warmer_spring_c * spring
    warm = {name: getattr(record, name) + added for name in ("tmin_c", "tmax_c", "tmean_c")}
    made = make_plan(collection(*trees), entries(*notes), replace(record, **warm), rulebook(), day, before)
    return made, as_published(made)


def test_root_work_is_no_reason_for_an_earlier_day() -> None:
    """A repot in May sets the bloom back: what comes earlier in a warm spring has another cause."""
    _, before = planned(date(2013, 3, 1))
    done = [{"date": "2013-05-07", "tree": tree["id"], "did": "repot"} for tree in TREES]
    after, _ = planned(date(2013, 5, 8), done, before, warmer_spring_c=4.0)
    moved = earlier = 0
    for task in after.tasks:
        old = before.of(task.tree).tasks.get(task.part)
        if old is None or old.day == task.day or lasts(rulebook().taxa[task.taxon].rules[task.rule]):
            continue
        moved += 1
        words = cause_words(task.move.cause)
        if task.day < old.day:
            earlier += 1
            assert "repot was done" not in words and not words.endswith("later than expected"), task
            assert not ("now expected" in words and words.endswith("later")), task
        else:
            assert not ("now expected" in words and words.endswith("earlier")), task
    assert moved > 10 and earlier > 5
    told = " ".join(change_lines(before, after, rulebook(), True))
    assert re.search(r" to \d+ May \(", told) and not re.search(r" to \d+ \w+ 201\d \(", told)


def test_a_day_of_the_next_year_is_told_with_its_year() -> None:
    made, before = planned(date(2013, 3, 1))
    late = next(task for task in made.tasks if task.day > date(2014, 2, 1).toordinal())
    moved = replace(late, day=late.day + 3, move=Move(late.day, ClearlyBetter()))
    tasks = [moved if task is late else task for task in made.tasks]
    told = " ".join(change_lines(before, replace(made, tasks=tasks), rulebook(), True))
    assert re.search(r" to \d+ \w+ 2014 \(\+3 days\): ", told), told


def test_a_look_left_alone_moves_to_some_days_later_or_to_the_eve_of_the_work() -> None:
    first = date(2013, 5, 27).toordinal()
    vigour = TREES[1:2]
    _, before = planned(date(2013, 5, 20), trees=vigour)
    days: list[int] = []
    for day in range(first, first + 21):
        made, before = planned(date.fromordinal(day), before=before, trees=vigour)
        days += [t.day for t in made.tasks if t.key == "v/first-flower/2013/1/look"]
    assert days == sorted(days)
    # One a day would be 21; as the work comes near, its eve is the last day for a look.
    assert 2 <= len(set(days)) <= 11
