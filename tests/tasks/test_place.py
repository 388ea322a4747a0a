"""A day inside its window: away, favourites, company, piles, rounds, rests."""

from collections import Counter
from datetime import date

import numpy as np
from planning import SATSUKI, TODAY, collection, entries, made_record, of, plan, rulebook

from care_planner.plan import make_plan
from care_planner.words.fates import fate_words
from care_planner.years.choose import Wanted, choose_day
from care_planner.years.workdays import workdays

FIRST = date(2027, 5, 3).toordinal()  # a Monday
NO_LOAD = np.zeros(60)


def days(away: tuple[int, ...] = (), liked: tuple[int, ...] = tuple(range(60))) -> object:
    return workdays(FIRST, 60, lambda day: day - FIRST in away, lambda day: day - FIRST in liked)


def chosen(
    wanted: tuple[int, int, int], known: object, load: np.ndarray = NO_LOAD, company: object = ()
) -> int:
    first, last, aim = (FIRST + at for at in wanted)
    day = choose_day(Wanted(first, last, aim), known, load, Counter(FIRST + at for at in company))  # type: ignore[arg-type, attr-defined]
    assert day is not None
    return day - FIRST


def test_the_day_aimed_at() -> None:
    assert chosen((0, 10, 4), days()) == 4


def test_never_while_away() -> None:
    assert chosen((0, 10, 4), days(away=(3, 4, 5))) in (2, 6)
    assert choose_day(Wanted(FIRST, FIRST + 2, FIRST), days(away=(0, 1, 2)), NO_LOAD, {}) is None  # type: ignore[arg-type]


def test_rather_a_favourite_day() -> None:
    assert chosen((0, 10, 3), days(liked=(5, 6))) == 5
    assert chosen((0, 4, 3), days(liked=(5, 6))) == 3


def test_rather_in_company() -> None:
    assert chosen((0, 10, 4), days(), company=(6,)) == 6
    assert chosen((0, 20, 4), days(), company=(18,)) == 4


def test_rather_not_on_a_full_day() -> None:
    load = NO_LOAD.copy()
    load[4] = 3
    assert chosen((0, 10, 4), days(), load) in (3, 5)


def test_the_same_work_on_the_same_day_where_windows_allow_it() -> None:
    trees = [
        {**SATSUKI, "id": f"s-{n}", "size": size, "bench": bench}
        for n, (size, bench) in enumerate(
            (size, bench) for size in ("small", "large") for bench in ("open", "pocket")
        )
    ]
    made = plan(*trees, people={"days": ["sat"]})
    for bench in ("open", "pocket"):
        own = {tree["id"] for tree in trees if tree["bench"] == bench}
        found = {task.day for task in of(made, "prune-after-bloom", 2027) if task.tree in own}
        assert len(found) == 1


def test_work_whose_window_is_open_today_is_still_planned() -> None:
    early = plan(SATSUKI)
    (prune,) = of(early, "prune-after-bloom", 2027)
    assert prune.window.closes is not None
    late = plan(SATSUKI, today=prune.window.closes)
    assert [task.day for task in of(late, "prune-after-bloom", 2027)] == [prune.window.closes]
    over = plan(SATSUKI, today=prune.window.closes + 1)
    assert of(over, "prune-after-bloom", 2027) == []
    assert "whether it was done is asked" in fate_words(over.fates["s"]["prune-after-bloom", 2027])


def test_a_rest_moves_the_opening() -> None:
    """Feed rests after root work (common practice, no source): the pack's own days hold."""
    rules = rulebook().taxa["satsuki-azalea"].rules
    rests = [
        (id, rest) for id, rule in rules.items() for rest in rule.rests if "repot-after-bloom" in rest.after
    ]
    assert rests
    late = date(2027, 6, 20)
    tree = {**SATSUKI, "last_repot": {"date": "2020-03-01"}}
    made = plan(
        tree, today=late.toordinal() + 1, notes=[{"date": late, "tree": "s", "did": "repot-after-bloom"}]
    )
    for id, rest in rests:
        for task in of(made, id, 2027):
            assert task.day >= late.toordinal() + rest.days, id


def test_rounds_keep_their_numbers_as_days_go_by() -> None:
    first = plan(SATSUKI)
    rounds = of(first, "winter-water-check", 2026)
    later = plan(SATSUKI, today=TODAY + 9)
    after = {task.occurrence: task.day for task in of(later, "winter-water-check", 2026)}
    for task in rounds:
        if task.day >= TODAY + 9 and task.occurrence in after:
            assert abs(after[task.occurrence] - task.day) <= 3


def test_a_note_sets_the_rhythm_of_rounds() -> None:
    done = date(2027, 3, 3)
    made = make_plan(
        collection(SATSUKI),
        entries({"date": done, "tree": "s", "did": "winter-water-check"}),
        made_record(),
        rulebook(),
        done.toordinal(),
    )
    (first, *_) = of(made, "winter-water-check", 2026)
    assert 4 <= first.day - done.toordinal() <= 10
    assert made.done == []  # routine is not held up as done
