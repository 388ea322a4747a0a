"""Work that comes again and again."""

from datetime import date

import numpy as np
from one_tree import SATURDAYS, TODAY, away, fate, shown, window, years_of
from small_world import (
    day,
    outcome,
    rule,
)

# Rounds.


def test_rounds_keep_their_interval() -> None:
    body = window("03-01", "06-30") + "repeat: {every_days: 14}\nchoose: early"
    days = [at for _, at in outcome(years_of(rule("feed", body), people=SATURDAYS), "feed").days]
    gaps = np.diff(days)
    assert len(days) == 9 and all(date.fromordinal(at).weekday() == 5 for at in days)
    assert gaps.min() >= 7 and gaps.max() <= 21
    assert day("2021-03-01") <= days[0] and days[-1] <= day("2021-06-30")


def test_rounds_pushed_together_by_absence_keep_apart() -> None:
    """The first could lie on 7 March and the second only on the 9th: it is left out."""
    body = window("03-01", "06-30") + "repeat: {every_days: 14}"
    gone = away(("2021-02-25", "2021-03-06"), ("2021-03-10", "2021-03-21"))
    days = [at for _, at in outcome(years_of(rule("feed", body), **gone), "feed").days]
    assert days[0] == day("2021-03-07") and np.diff(days).min() >= 9


def test_rounds_end_at_most() -> None:
    body = window("03-01", "06-30") + "repeat: {every_days: 14, at_most: 2}"
    made = outcome(years_of(rule("feed", body)), "feed")
    assert shown(made) == ["2021-03-01", "2021-03-15"]
    assert [number for number, _ in made.days] == [1, 2]
    over = years_of(rule("feed", body), today="2021-05-01")
    assert fate(over, "feed").startswith("past: its time was 1 Mar to 30 Jun 2021")


def test_a_round_noted_sets_the_rhythm_anew_and_keeps_the_count() -> None:
    body = window("03-01", "06-30") + "repeat: {every_days: 14, at_most: 3}"
    noted = [{"date": "2021-03-05", "did": "feed"}]
    made = outcome(years_of(rule("feed", body), noted=noted, today="2021-03-06"), "feed")
    assert made.days == ((2, day("2021-03-19")), (3, day("2021-04-02")))
    assert made.day == day("2021-03-05")
    all_done = [{"date": f"2021-0{month}-05", "did": "feed"} for month in (3, 4, 5)]
    years = years_of(rule("feed", body), noted=all_done, today="2021-05-06")
    assert fate(years, "feed") == "done: last noted on 5 May 2021"


def test_occurrences_keep_their_numbers_as_the_window_goes_by() -> None:
    body = rule("feed", window("03-01", "06-30") + "repeat: {every_days: 14}")
    start, later = (dict(outcome(years_of(body, today=at), "feed").days) for at in (TODAY, "2021-04-20"))
    assert later and set(later) < set(start)
    assert all(start[number] == at for number, at in later.items() if at > day("2021-05-01"))
