"""A day inside a window: wishes, company, piles; never while everyone is away."""

from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from care_planner.years import choose
from care_planner.years.choose import COMPANY, FAVOURITE, Wanted, choose_day, nearest_day_outside
from care_planner.years.workdays import Board, Workdays, workdays

FIRST, DAYS = 100, 60


def free(away: set[int] | None = None, favourite: set[int] | None = None) -> Workdays:
    return workdays(FIRST, DAYS, lambda day: day in (away or set()), lambda day: day in (favourite or set()))


def chosen(
    wanted: Wanted, days: Workdays, load: dict[int, int] | None = None, company: dict[int, int] | None = None
) -> int | None:
    pile = np.zeros(DAYS)
    for day, count in (load or {}).items():
        pile[day - FIRST] = count
    return choose_day(wanted, days, pile, Counter(company or {}))


def test_the_day_aimed_at_where_nothing_speaks_against_it() -> None:
    assert chosen(Wanted(110, 120, 115), free()) == 115
    assert chosen(Wanted(110, 120, 130), free()) == 120
    assert chosen(Wanted(120, 110, 115), free()) is None


def test_a_favourite_day_near_the_aim_wins() -> None:
    saturdays = {112, 119}
    assert chosen(Wanted(110, 120, 115), free(favourite=saturdays)) == 112  # three days early, not four late
    assert chosen(Wanted(110, 120, 115), free(favourite={100 + i for i in range(20)})) == 115
    assert chosen(Wanted(100, 130, 115), free(favourite={115 + 14}), {}, {}) == 115  # too far to go for it


def test_nobody_works_while_away() -> None:
    assert chosen(Wanted(110, 120, 115), free(away={115}, favourite={115})) == 114  # a tie: the earlier
    assert chosen(Wanted(110, 120, 115), free(away=set(range(110, 121)))) is None
    far = free(away=set(range(100, 150)))
    assert chosen(Wanted(101, 155, 102), far) == 150  # beyond the near days, but inside the window


def test_trees_join_a_day_that_others_have() -> None:
    assert chosen(Wanted(110, 120, 115), free(), {}, {117: 3}) == 117
    assert chosen(Wanted(110, 120, 115), free(), {}, {119: 3}) == 115  # four days are too many for it


def test_one_tree_s_works_do_not_pile_up() -> None:
    assert chosen(Wanted(110, 120, 115), free(), {115: 2}) == 114
    assert chosen(Wanted(115, 115, 115), free(), {115: 9}) == 115  # where there is one day only, they do


@settings(max_examples=60)
@given(
    st.integers(FIRST, FIRST + DAYS - 1),
    st.integers(0, 30),
    st.integers(FIRST - 5, FIRST + DAYS + 5),
    st.sets(st.integers(FIRST, FIRST + DAYS - 1)),
    st.sets(st.integers(FIRST, FIRST + DAYS - 1)),
    st.dictionaries(st.integers(FIRST, FIRST + DAYS - 1), st.integers(1, 3)),
)
def test_the_best_day_by_a_loop(
    first: int, length: int, aim: int, away: set[int], liked: set[int], load: dict[int, int]
) -> None:
    """Against each day's cost, counted one by one (windows no longer than what is near)."""
    last = min(first + min(length, choose.REACH_DAYS), FIRST + DAYS - 1)
    aim = min(max(aim, first), last)
    a_day_off = min(1.0, 14.0 / (last - first + 1))

    def cost(day: int) -> float:
        return abs(day - aim) * a_day_off - FAVOURITE * (day in liked) + load.get(day, 0) ** 2

    allowed = [day for day in range(first, last + 1) if day not in away]
    best = min(allowed, key=lambda day: (round(cost(day), 9), day)) if allowed else None
    found = chosen(Wanted(first, last, aim), free(away, liked), load)
    assert found == best or (
        found is not None and best is not None and cost(found) == pytest.approx(cost(best))
    )


def test_a_wish_that_counts_for_nothing_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(choose, "FAVOURITE", 0.0)
    with pytest.raises(AssertionError):
        test_a_favourite_day_near_the_aim_wins()


def test_company_is_worth_less_than_a_favourite_day() -> None:
    assert 0 < COMPANY < FAVOURITE


# Outside the window, where everyone is away for all of it.


def test_the_nearest_day_outside() -> None:
    days = free(away=set(range(108, 123)))
    window = Wanted(110, 120, 115)
    assert nearest_day_outside(window, days, True, 100, 14) == 107
    assert nearest_day_outside(window, days, False, 100, 14) == 123
    assert nearest_day_outside(window, days, True, 108, 14) == 123  # never before the earliest
    assert nearest_day_outside(window, days, False, 100, 2) is None
    assert nearest_day_outside(window, free(away=set(range(108, 160))), False, 100, 60) == 107


def test_the_board_knows_the_days_of_a_work() -> None:
    board = Board()
    board.add("repot", 2027, 110)
    board.add("repot", 2027, 110)
    asked = board.given("repot", 2027)
    assert asked == {110}
    assert board.given("repot", 2028) == set()
    assert board.still_says({("repot", 2027): asked})
    board.add("repot", 2027, 117)
    assert not board.still_says({("repot", 2027): asked})
