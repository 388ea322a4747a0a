"""What becomes of a rule for one tree: its day, notes, choices for want of room, buds rubbed off."""

import numpy as np
import pytest
from one_tree import SATURDAYS, fate, shown, window, years_of
from small_world import (
    FLOWERING,
    day,
    notes,
    outcome,
    resolved,
    rule,
    shipped,
)

from care_planner.years.outcome import Outcome
from care_planner.years.state import TreeYears

# A day inside the window.


@pytest.mark.parametrize(
    ("choose", "wanted"), [("early", "2021-03-06"), ("mid", "2021-03-20"), ("late", "2021-04-03")]
)
def test_where_in_the_window(choose: str, wanted: str) -> None:
    """From Wed 3 March to Mon 5 April, on a Saturday."""
    years = years_of(rule("work", window("03-03", "04-05") + f"choose: {choose}"), people=SATURDAYS)
    assert shown(outcome(years, "work")) == [wanted]


def test_never_before_today() -> None:
    body = window("03-03", "03-31") + "choose: early"
    assert shown(outcome(years_of(rule("work", body), today="2021-03-20"), "work")) == ["2021-03-20"]
    assert shown(outcome(years_of(rule("work", body), today="2021-03-31"), "work")) == ["2021-03-31"]
    years = years_of(rule("work", body), today="2021-04-01")
    assert fate(years, "work") == (
        "past: its time was 3 Mar to 31 Mar 2021; no note says that it was done, so it counts as not done"
    )
    assert shown(outcome(years, "work", 1)) == ["2022-03-03"]


def test_silence_before_the_tree_was_known_is_no_miss() -> None:
    body = rule("work", window("03-03", "03-31"))
    years = years_of(body, tree={"known_from": "2021-04-05"}, today="2021-04-10")
    assert fate(years, "work") == "past: its time was 3 Mar to 31 Mar 2021, before the tree was known"


def test_a_tree_that_came_after_its_time_for_shelter_is_asked_for_in_that_winter() -> None:
    """It may stand in the cold this very night; other work from before it came is nobody's miss."""
    shelter = window("11-03", "11-20") + "asks: Is it in?\neffects: [{moves_to: winter-bench}]"
    tree = {"known_from": "2021-12-05", "winter_bench": "shed"}
    assert fate(years_of(rule("work", shelter), tree=tree, today="2021-12-10"), "work") == (
        "open: its time was 3 Nov to 20 Nov 2021; whether it was done is asked"
    )
    # In spring it must still come out again, from wherever it was.
    spring = rule("work", shelter), rule("out", window("03-25", "04-20") + "effects: [{moves_to: bench}]")
    came = {"known_from": "2022-04-01", "winter_bench": "shed"}
    years = years_of(*spring, tree=came, today="2022-04-02")
    assert outcome(years, "out").state == "planned"
    other = window("11-03", "11-20") + "asks: Was it done?"
    assert fate(years_of(rule("work", other), tree=tree, today="2021-12-10"), "work") == (
        "past: its time was 3 Nov to 20 Nov 2021, before the tree was known"
    )


def test_work_that_counts_as_done_without_a_note() -> None:
    years = years_of(rule("work", window("03-03", "03-31") + "without_note: done"), today="2021-04-10")
    assert fate(years, "work") == "presumed: taken as done, 3 Mar to 31 Mar 2021"
    assert outcome(years, "work").counts


def test_work_of_a_past_season_is_not_begun_late() -> None:
    """A window from November to March: wanted in early December, so not in January any more."""
    body = rule(
        "work", "opens: {month_day: '11-20'}\ncloses: {month_day: '03-20', season: next}\nchoose: early"
    )
    assert shown(outcome(years_of(body, today="2020-12-04"), "work")) == ["2020-12-04"]
    late = years_of(body, today="2021-01-10")
    assert outcome(late, "work", -1).state == "past"
    assert shown(outcome(late, "work", 0)) == ["2021-11-20"]


# Notes.


def test_done_is_done_and_skipped_is_lost() -> None:
    body = rule("work", window("03-03", "03-31"))
    done = years_of(body, noted=[{"date": "2021-03-02", "did": "work"}], today="2021-03-05")
    assert fate(done, "work") == "done: noted as done on 2 Mar 2021"
    left = years_of(body, noted=[{"date": "2021-03-02", "skipped": "work"}], today="2021-03-05")
    assert fate(left, "work") == "lost: noted as not to be done this season"
    assert outcome(left, "work", 1).state == "planned"


def test_a_winter_s_work_belongs_to_the_season_it_began_in() -> None:
    over = rule("over", "opens: {month_day: '11-20'}\ncloses: {month_day: '03-20', season: next}")
    own = rule("own", window("02-01", "03-20"))
    noted = [{"date": "2021-02-03", "did": "over"}, {"date": "2021-02-03", "did": "own"}]
    years = years_of(over, own, noted=noted, today="2021-02-05")
    assert (outcome(years, "over", -1).state, outcome(years, "over").state) == ("done", "planned")
    assert outcome(years, "own").state == "done"


def test_work_that_ends_with_the_first_frost_belongs_to_its_spring() -> None:
    """Opened by the spring, closed by the first frost: noted in April it is this year's."""
    look = rule(
        "look", "opens: {month_day: '04-01'}\ncloses: {first_night: {at_most_c: 0}}\nrepeat: {every_days: 21}"
    )
    shelter = rule("shelter", "closes: {first_night: {at_most_c: 0}}\nopens: {of: closes, plus_days: -28}")
    noted = [{"date": "2021-04-20", "did": "look"}, {"date": "2021-01-12", "did": "shelter"}]
    years = years_of(look, shelter, noted=noted, today="2021-04-21")
    assert set(years.history.works) == {("look", 2021), ("shelter", 2020)}
    assert shown(outcome(years, "look"))[0] == "2021-05-11"


# No room.

NO_ROOM = """
opens: {month_day: '06-20'}
closes: {month_day: '06-10'}
no_room:
  - {goal: [flowers], says: end bloom early, costs: bloom, work: before-it-closes, lasts_days: 7}
  - {goal: [balanced], says: thin instead, costs: shape, work: none}
  - goal: [vigour]
    says: prune all the same
    costs: flowers
    work: after-it-opens
    effects: [{season: next, set: {buds: none}}]
"""


def room(goal: str) -> tuple[Outcome, TreeYears]:
    years = years_of(rule("prune", NO_ROOM, "pruning"), tree={"goal": goal}, base=FLOWERING)
    return outcome(years, "prune"), years


def test_the_goal_chooses_where_there_is_no_room() -> None:
    early, _ = room("flowers")
    assert day("2021-06-03") <= early.day <= day("2021-06-10")
    none, years = room("balanced")
    assert fate(years, "prune") == "no-room: thin instead"
    assert (none.room, none.days) == (0.0, ())
    late, years = room("vigour")
    assert day("2021-06-20") <= late.day <= day("2021-07-04")
    assert years.facts["buds", 1] == "none" and years.facts["bloom", 1] == "none"
    assert room("flowers")[1].facts["buds", 1] == "present"


def test_a_goal_without_a_choice_says_so() -> None:
    body = window("06-20", "06-10") + "no_room: [{goal: [flowers], says: x, costs: y}]"
    assert (
        fate(years_of(rule("prune", body)), "prune")
        == "no-room: no room, and the pack has no choice for balanced"
    )
    crossed = """
opens: {latest: [{month_day: "06-20"}, {month_day: "06-15"}]}
closes: {month_day: "06-10"}
"""
    assert fate(years_of(rule("prune", crossed)), "prune") == (
        "rare: it would close before it opens; in 0% of the weather years only"
    )


# Piles.


def test_one_tree_s_works_lie_on_different_days_where_they_can() -> None:
    works = [rule(f"work-{letter}", window("03-01", "03-31")) for letter in "abc"]
    days = [outcome(years_of(*works), f"work-{letter}").day for letter in "abc"]
    assert len(set(days)) == 3


# Buds rubbed off.


@pytest.fixture(scope="module")
def rubbed() -> TreeYears:
    noted = notes({"date": "2020-11-20", "did": "rub-buds-off"})
    tree = {
        "taxon": "satsuki-azalea",
        "goal": "balanced",
        "multicoloured": True,
        "last_repot": {"date": "2020-03-20"},
    }
    return resolved(shipped("satsuki-azalea"), tree, entries=noted)


@pytest.mark.parametrize(
    "id", ["thin-flowers", "tag-colours", "midday-shade", "spent-flowers-off", "prune-after-bloom"]
)
def test_buds_rubbed_off_leave_no_bloom_work(rubbed: TreeYears, id: str) -> None:
    assert (rubbed.facts["buds", 0], rubbed.facts["bloom", 0]) == ("none", "none")
    assert outcome(rubbed, id).state == "lost"
    assert rubbed.stage("first-flower", 0).min() == np.inf


def test_the_bloom_work_returns_the_year_after(rubbed: TreeYears) -> None:
    assert (rubbed.facts["buds", 1], rubbed.facts["bloom", 1]) == ("present", "expected")
    for id in ("tag-colours", "midday-shade", "remaining-buds-off", "prune-after-bloom"):
        assert outcome(rubbed, id, 1).state == "planned", id
    assert outcome(rubbed, "prune-without-bloom").state == "planned"
    assert outcome(rubbed, "prune-without-bloom", 1).state == "lost"


def test_colours_are_tagged_before_the_flowers_come_off() -> None:
    tree = {
        "taxon": "satsuki-azalea",
        "goal": "vigour",
        "multicoloured": True,
        "last_repot": {"date": "2020-03-20"},
    }
    years = resolved(shipped("satsuki-azalea"), tree)
    assert outcome(years, "tag-colours").day <= outcome(years, "remaining-buds-off").day
    # What its planned day changes: the bloom ends with it.
    off = outcome(years, "remaining-buds-off").day
    assert years.stage("end-of-bloom", 0).max() <= off
