"""Works that block one another, rest from one another and wait for one another."""

import numpy as np
import pytest
from one_tree import DUE, PRUNE, REPOT, fate, shown, window, years_of
from small_world import (
    outcome,
    rule,
)

# Blocks, rests, order.


def test_one_heavy_work_a_season() -> None:
    assert fate(years_of(REPOT, PRUNE, tree=DUE), "prune") == (
        "lost: one heavy work a season: repot, planned for 15 Mar 2021"
    )
    assert outcome(years_of(REPOT, PRUNE, tree=DUE), "prune", 1).state == "planned"
    # The order in the pack says which one wins.
    assert fate(years_of(PRUNE, REPOT, tree=DUE), "repot").startswith("lost: one heavy work a season: prune")


def test_a_heavy_work_already_done_stands_against_every_other() -> None:
    noted = [{"date": "2021-02-20", "did": "prune"}]
    years = years_of(REPOT, PRUNE, tree=DUE, noted=noted, today="2021-02-25")
    assert fate(years, "repot") == "lost: one heavy work a season: prune, done on 20 Feb 2021"
    assert outcome(years, "repot", 1).state == "planned"


def test_a_rescue_does_not_wait_for_a_season() -> None:
    rescue = rule(
        "rescue", "opens: {sign: root-rot}\ncloses: {sign: root-rot, plus_days: 14}\nheavy: yes", "roots"
    )
    noted = [{"date": "2021-02-20", "did": "prune"}, {"date": "2021-06-01", "saw": "root-rot"}]
    years = years_of(rescue, PRUNE, noted=noted, today="2021-06-02", signs=("root-rot",))
    assert outcome(years, "rescue").state == "planned"


def test_a_repot_that_only_the_collection_tells_counts() -> None:
    years = years_of(REPOT, PRUNE, tree={"last_repot": {"date": "2021-03-12"}}, today="2021-03-15")
    assert fate(years, "repot") == "done: noted as done on 12 Mar 2021"
    assert years.facts["roots_worked", 0] == "yes"
    assert fate(years, "prune") == "lost: one heavy work a season: repot, done on 12 Mar 2021"
    # One dated after today does not count yet.
    years = years_of(REPOT, PRUNE, tree={"last_repot": {"date": "2021-03-20"}}, today="2021-03-15")
    assert years.facts["roots_worked", 0] == "no"


def test_repotting_comes_due_by_seasons_and_age() -> None:
    def state(age: str, last: str) -> str:
        return years_of(REPOT, tree={"age": age, "last_repot": {"date": last}}).facts["repot", 0]

    assert (state("established", "2018-04-20"), state("established", "2019-03-01")) == ("due", "not-due")
    assert (state("young", "2019-04-20"), state("young", "2020-03-01")) == ("due", "not-due")
    assert years_of(REPOT).facts["repot", 0] == "not-told"
    assert fate(years_of(REPOT), "repot") == "asked: its last repot or its age is not known"
    own = {"repot_every_years": 5, "last_repot": {"date": "2018-04-20"}}
    assert years_of(REPOT, tree=own).facts["repot", 0] == "not-due"
    # Planned for this season, it is not due in the next.
    assert years_of(REPOT, tree=DUE).facts["repot", 1] == "not-due"


def test_blocks_between_works() -> None:
    blocked = rule("work", window("04-01", "04-20") + "unless: [{work: [other]}]")
    other = rule("other", window("03-01", "03-20"))
    assert fate(years_of(blocked, other), "work") == "lost: not with other, planned for 10 Mar 2021"
    past = years_of(blocked, other, today="2021-03-25")  # its window closed without a note
    assert outcome(past, "work").state == "planned"
    block = rule(
        "block", window("03-01", "03-20") + "blocks: [work]\nonly: {goal: [vigour]}", title="Leave it"
    )
    plain = rule("work", window("04-01", "04-20"))
    assert outcome(years_of(block, plain), "work").state == "planned"
    assert fate(years_of(block, plain, tree={"goal": "vigour"}), "work") == "lost: blocked by block: Leave it"


def test_work_that_waits_for_what_does_not_come_says_so() -> None:
    after = rule("aftercare", "opens: {work: repot, plus_days: 1}\ncloses: {of: opens, plus_days: 42}")
    assert fate(years_of(REPOT, after), "aftercare") == "rare: it waits for repot, which does not come"
    assert outcome(years_of(REPOT, after, tree=DUE), "aftercare").state == "planned"


def test_a_rest_from_earlier_work() -> None:
    feed = rule("feed", window("03-01", "05-31") + "choose: early\nrests: [{after: [repot], days: 42}]")
    assert shown(outcome(years_of(REPOT, feed, tree=DUE), "feed")) == ["2021-04-26"]  # 15 March and 42 days
    assert shown(outcome(years_of(REPOT, feed), "feed")) == ["2021-03-01"]
    noted = [{"date": "2021-03-20", "did": "repot"}]
    late = years_of(REPOT, feed, tree=DUE, noted=noted, today="2021-03-21")
    assert shown(outcome(late, "feed")) == ["2021-05-01"]
    long = rule("feed", window("03-01", "04-20") + "rests: [{after: [repot], days: 42}]")
    assert outcome(years_of(REPOT, long, tree=DUE), "feed").state == "rare"


def test_the_order_between_works() -> None:
    first, second = (
        rule(id, window("05-01", "05-20") + body)
        for id, body in (("tag", ""), ("off", "after: [{work: tag, gap_days: 2}]\nchoose: early"))
    )
    years = years_of(first, second)
    assert outcome(years, "off").days[0][1] >= outcome(years, "tag").day + 2
    done = years_of(first, second, noted=[{"date": "2021-05-19", "did": "tag"}], today="2021-05-19")
    assert shown(outcome(done, "off")) == ["2021-05-21"]  # the order is kept, a day after the window
    skipped = years_of(first, second, noted=[{"date": "2021-04-19", "skipped": "tag"}], today="2021-04-20")
    assert shown(outcome(skipped, "off")) == ["2021-05-01"]  # what is not due is not waited for


def test_a_rest_left_out_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("care_planner.years.work.rested_until", lambda *args: -np.inf)
    with pytest.raises(AssertionError):
        test_a_rest_from_earlier_work()


def test_heavy_works_that_do_not_count_are_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("care_planner.years.eligible._one_heavy_work", lambda *args: iter(()))
    for law in (test_one_heavy_work_a_season, test_a_heavy_work_already_done_stands_against_every_other):
        with pytest.raises(AssertionError):
            law()
