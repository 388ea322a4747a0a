"""What becomes of a rule for one tree: blocks, rests, order, risk, choices, rounds, late and missed work."""

from collections.abc import Mapping
from datetime import date
from typing import Any

import numpy as np
import pytest
from small_world import (
    FLOWERING,
    PLAIN,
    day,
    notes,
    outcome,
    pack_text,
    resolved,
    rule,
    rulebook,
    shipped,
    smooth_record,
    warmer,
)

from care_planner.stages.members import quantile
from care_planner.tasks.outcome import Outcome
from care_planner.tasks.place import aim_of
from care_planner.tasks.resolve import TreeYears

TODAY = "2021-01-10"
SATURDAYS = {"days": ["sat"]}


def window(first: str, last: str) -> str:
    return f"opens: {{month_day: '{first}'}}\ncloses: {{month_day: '{last}'}}\n"


def years_of(
    *rules: str,
    tree: Mapping[str, Any] | None = None,
    today: str = TODAY,
    noted: list[dict[str, Any]] | None = None,
    base: str = PLAIN,
    signs: tuple[str, ...] = (),
    **other: Any,
) -> TreeYears:
    made = rulebook(pack_text(base, *rules, signs=signs))
    taxon = {"taxon": "plain-tree" if base is PLAIN else "flowering-tree"}
    return resolved(made, {**taxon, **(tree or {})}, today=today, entries=notes(*(noted or [])), **other)


def shown(made: Outcome) -> list[str]:
    return [date.fromordinal(at).isoformat() for _, at in made.days]


def fate(years: TreeYears, id: str, step: int = 0) -> str:
    made = outcome(years, id, step)
    return f"{made.state}: {made.reason}" if made.reason else made.state


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


# Blocks, rests, order.

REPOT = rule("repot", window("03-10", "03-20") + "heavy: yes\nonly: {repot: [due]}", "roots")
PRUNE = rule("prune", window("05-01", "05-20") + "heavy: yes", "pruning")
DUE = {"last_repot": {"date": "2016-03-15"}}


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
    assert fate(years_of(REPOT), "repot") == "asked: repot is not told"
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


# People.


def away(*spans: tuple[str, str]) -> dict[str, Any]:
    return {"people": {"away": [{"from": first, "to": last} for first, last in spans]}}


def test_nobody_works_while_away() -> None:
    body = rule("work", window("03-01", "03-20"))
    assert shown(outcome(years_of(body, **away(("2021-03-05", "2021-03-14"))), "work")) == ["2021-03-15"]
    before = outcome(years_of(body, **away(("2021-02-25", "2021-03-20"))), "work")
    assert (shown(before), before.aimed) == (["2021-03-21"], "everyone is away for the whole window")


def test_away_for_far_longer_than_the_window_is_said() -> None:
    body = rule("work", window("03-01", "03-20"))
    gone = years_of(body, **away(("2021-02-01", "2021-04-20")))
    assert fate(gone, "work") == "away: everyone is away for the whole window, 1 Mar to 20 Mar 2021"
    assert not outcome(gone, "work").counts
    rounds = rule("work", window("03-01", "03-20") + "repeat: {every_days: 5}")
    gone = years_of(rounds, **away(("2021-02-25", "2021-03-22")))
    assert fate(gone, "work") == "away: everyone is away for the whole window, 1 Mar to 20 Mar 2021"


def test_work_with_a_risk_is_done_before_one_goes_away() -> None:
    """Late, from long before the first frost on: it is done before, however early."""
    body = rule("shelter", SHELTER)
    gone = outcome(years_of(body, **away(("2021-09-20", "2021-12-31"))), "shelter")
    assert shown(gone) == ["2021-09-19"]


# Risk.

SHELTER = """
closes: {first_night: {at_most_c: frost-limit}, plus_days: -1}
opens: {of: closes, plus_days: -28}
choose: {latest_within_risk: frost}
"""


def deadline(record: Any = None, risk: float = 0.1, **tree: Any) -> tuple[int, np.ndarray]:
    """The day before snapping to a day off, and the nights of the members, sorted."""
    made = years_of(rule("shelter", SHELTER), tree=tree, record=record, risk={"frost": risk})
    found = outcome(made, "shelter")
    assert found.window is not None
    aim = aim_of(found.rule, found.window, made.shared.risks, -np.inf)
    assert aim is not None
    return aim.wanted.aim, np.sort(found.window.closes) + 1


@pytest.mark.parametrize("risk", [0.05, 0.1, 0.3])
def test_the_deadline_keeps_the_risk_and_no_more(risk: float) -> None:
    last, nights = deadline(risk=risk)
    assert quantile(nights, 0.01) - 1 <= last <= quantile(nights, 0.5)
    assert np.mean(nights <= last) <= risk < np.mean(nights <= last + 1 + 7)


def test_a_more_careful_limit_and_a_colder_bench_shelter_earlier() -> None:
    usual, _ = deadline()
    assert deadline(frost_limit_c=1)[0] < usual
    assert deadline(bench="pocket")[0] < usual
    assert deadline(age="young")[0] < usual
    assert deadline(warmer(smooth_record(), 2.0), frost_limit_c=1)[0] > deadline(frost_limit_c=1)[0]


def test_roots_worked_this_season_shelter_earlier() -> None:
    def limit(tree: dict[str, Any]) -> float:
        years = years_of(REPOT, rule("shelter", SHELTER), tree=tree)
        return years.frost_limit_c(0)

    assert (limit({}), limit(DUE), limit({**DUE, "frost_limit_c": -2})) == (-3.0, 0.0, -2.0)


def test_where_no_frost_comes_there_is_no_shelter() -> None:
    years = years_of(rule("shelter", SHELTER), record=warmer(smooth_record(), 12.0))
    assert fate(years, "shelter") == "rare: it comes up in 0% of the weather years only"


def test_bringing_out_waits_until_the_last_frosts_are_rare() -> None:
    body = """
opens: {last_night: {at_most_c: 0}, plus_days: 1}
closes: {of: opens, plus_days: 28}
choose: {earliest_within_risk: frost}
"""
    found = outcome(years_of(rule("out", body)), "out")
    assert found.window is not None
    chosen = found.days[0][1]
    assert np.mean(found.window.opens > chosen) <= 0.1
    assert chosen >= quantile(found.window.opens, 0.5)


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
    assert fate(years_of(rule("prune", window("06-20", "06-10"))), "prune") == (
        "rare: it would close before it opens; in 0% of the weather years only"
    )


# Rounds.


def test_rounds_keep_their_interval() -> None:
    body = window("03-01", "06-30") + "repeat: {every_days: 14}\nchoose: early"
    days = [at for _, at in outcome(years_of(rule("feed", body), people=SATURDAYS), "feed").days]
    gaps = np.diff(days)
    assert len(days) == 9 and all(date.fromordinal(at).weekday() == 5 for at in days)
    assert gaps.min() >= 7 and gaps.max() <= 21
    assert day("2021-03-01") <= days[0] and days[-1] <= day("2021-06-30")


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
    for id in ("tag-colours", "midday-shade", "spent-flowers-off", "prune-after-bloom"):
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


# Faults planted.


def test_a_rest_left_out_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("care_planner.tasks.work.rested_until", lambda *args: -np.inf)
    with pytest.raises(AssertionError):
        test_a_rest_from_earlier_work()


def test_heavy_works_that_do_not_count_are_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("care_planner.tasks.eligible._one_heavy_work", lambda *args: iter(()))
    for law in (test_one_heavy_work_a_season, test_a_heavy_work_already_done_stands_against_every_other):
        with pytest.raises(AssertionError):
            law()


def test_a_deadline_in_the_middle_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("care_planner.tasks.place.floor", lambda place: int(place) + 30)
    with pytest.raises(AssertionError):
        test_the_deadline_keeps_the_risk_and_no_more(0.1)
