"""A note that put work off is taken back: the work has its day of before."""

import pytest

from care_planner.windows.reason import Reason
from care_planner.years.move import DayOffThen, Move, NoLongerPutOff, NotDoneBy, PutOffNow
from care_planner.years.previous import PreviousTask, PreviousTree

TODAY, WAS, IS = 100, 105, 112


def published(cause: Reason, was: int = WAS) -> PreviousTree:
    task = PreviousTask(IS, "Work", "work", "work", 2027, None, None, Move(was, cause))
    return PreviousTree({"work/2027/1/work": task})


@pytest.mark.parametrize("cause", [DayOffThen(), PutOffNow(110)])
def test_work_has_its_day_of_before_once_the_note_is_gone(cause: Reason) -> None:
    (task,) = published(cause).taken_back(TODAY, [], {""}).tasks.values()
    assert task.day == WAS and task.move == Move(IS, NoLongerPutOff())


@pytest.mark.parametrize(
    ("cause", "was", "days_off", "put_off"),
    [
        (DayOffThen(), WAS, [(WAS - 1, WAS)], {""}),  # the note stands
        (PutOffNow(110), WAS, [], {"work"}),
        (DayOffThen(), TODAY - 1, [], {""}),  # that day has passed: nobody is told that it was missed
        (NotDoneBy(WAS), WAS, [], {""}),
    ],
)
def test_else_the_published_day_stands(
    cause: Reason, was: int, days_off: list[tuple[int, int]], put_off: set[str]
) -> None:
    before = published(cause, was)
    assert before.taken_back(TODAY, days_off, put_off) is before
