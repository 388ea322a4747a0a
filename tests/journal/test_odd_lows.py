"""A low that is more likely a slip than a night needs a second word."""

from datetime import date, timedelta

import pytest

from care_planner.journal.model import Entry
from care_planner.note.odd_lows import odd_low


def low(value: float, on: str = "2027-04-12") -> Entry:
    return Entry(date=date.fromisoformat(on), tree="tree-1", low_c=value)


@pytest.mark.parametrize(
    ("value", "on", "south", "doubted"),
    [
        (-30, "2027-04-12", False, True),
        (-3, "2027-04-12", False, False),
        (-30, "2027-01-12", False, False),
        (-30, "2027-01-12", True, True),
        (-30, "2027-07-12", True, False),
        (33, "2027-07-12", False, True),
    ],
)
def test_a_low_that_its_season_hardly_ever_has_is_doubted(value, on, south, doubted):
    assert bool(list(odd_low(low(value, on), [], south))) is doubted


def test_a_low_far_from_those_of_its_weeks_is_doubted():
    """-33 for -3, in a winter in which both could be."""
    day = date(2027, 1, 12)
    others = [Entry(date=day - timedelta(days=n), tree="tree-1", low_c=-3.0 - n) for n in (1, 2, 3)]
    assert list(odd_low(low(-33, "2027-01-12"), others, False)) == [
        "3 other lows of these weeks lie about -5.0 degC"
    ]
    assert list(odd_low(low(-12, "2027-01-12"), others, False)) == []
    assert list(odd_low(low(-33, "2027-01-12"), others[:2], False)) == []


def test_what_is_no_low_is_not_doubted():
    assert list(odd_low(Entry(date=date(2027, 4, 12), tree="tree-1", watered=True), [], False)) == []
