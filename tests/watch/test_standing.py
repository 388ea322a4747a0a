"""Where a tree stands and what cold it bears there, from its resolved years."""

import pytest
from small_world import FLOWERING, day, notes, pack_text, resolved, rule, rulebook

from care_planner.years.move import Move, NotDoneBy
from care_planner.years.previous import PreviousTask, PreviousTree
from care_planner.years.standing import stand_on

SHELTER = rule(
    "shelter",
    "closes: {first_night: {at_most_c: frost-limit}, plus_days: -1}\nopens: {of: closes, plus_days: -30}\n"
    "choose: late\neffects: [{moves_to: winter-bench}]\nwithout_note: done",
    kind="shelter",
)
BRING_OUT = rule(
    "bring-out",
    "opens: {day_length: {at_least_h: 11.0}}\ncloses: {of: opens, plus_days: 40}\nchoose: early\n"
    "effects: [{moves_to: bench}]\nwithout_note: done",
    kind="shelter",
)
REPOT = rule(
    "repot",
    "only: {repot: [due]}\nopens: {stage: bud-swell}\ncloses: {stage: flush}\nchoose: mid\nheavy: yes",
    kind="roots",
)
RULES = rulebook(pack_text(FLOWERING, SHELTER, BRING_OUT, REPOT))


def standing(tree=None, at="2021-01-15", entries=(), today="2021-01-10"):
    told = {"taxon": "flowering-tree", **(tree or {})}
    years = resolved(RULES, told, today=today, entries=entries)
    return stand_on(years, day(at))


def test_a_hardened_tree_at_rest_bears_its_taxons_limit():
    one = standing()
    assert (one.bench, one.limit_c, one.because, one.loss) == ("open", -3.0, "hardened", "tree")


@pytest.mark.parametrize(
    ("tree", "limit", "because"),
    [({"age": "young"}, 0.0, "young"), ({"frost_limit_c": -1}, -1.0, "told")],
)
def test_age_and_the_growers_own_limit(tree, limit, because):
    one = standing(tree)
    assert (one.limit_c, one.because) == (limit, because)


def test_worked_roots_bear_less():
    one = standing(entries=notes({"date": "2021-03-20", "did": "repot"}), at="2021-11-30", today="2021-11-20")
    assert (one.limit_c, one.because) == (0.0, "roots")


def test_moving_buds_shoots_and_flowers_bear_less_in_their_time_only():
    by_month = {month: standing(at=f"2021-{month:02}-20").because for month in (1, 5, 6, 12)}
    assert by_month[1] == by_month[12] == "hardened"
    assert by_month[5] in ("shoots", "flowers")
    seen = notes({"date": "2021-04-20", "saw": "first-flower"})
    one = standing(entries=seen, at="2021-04-25", today="2021-04-22")
    assert one.limit_c == 0.0


def test_it_stands_where_the_plan_and_the_notes_put_it():
    sheltered = {"winter_bench": "shed", "frost_limit_c": 0}
    assert standing(sheltered, at="2021-12-25").bench == "shed"
    assert standing(sheltered, at="2021-07-01").bench == "open"
    moved = notes({"date": "2021-01-12", "moved_to": "pocket"})
    assert standing(entries=moved, at="2021-01-15", today="2021-01-14").bench == "pocket"


ASKED = rule(
    "shelter",
    "closes: {first_night: {at_most_c: frost-limit}, plus_days: -1}\nopens: {of: closes, plus_days: -30}\n"
    "choose: late\neffects: [{moves_to: winter-bench}]\nasks: Is it in?",
    kind="shelter",
)
ASKING = rulebook(pack_text(FLOWERING, ASKED, BRING_OUT))
LATER_OUT = BRING_OUT.replace("{day_length: {at_least_h: 11.0}}", '{month_day: "03-10"}')
LATE_OUT = rulebook(pack_text(FLOWERING, ASKED, LATER_OUT))
SHELTERED = {"taxon": "flowering-tree", "winter_bench": "shed", "frost_limit_c": 0}


def asked(at, today, entries=()):
    return stand_on(resolved(ASKING, SHELTERED, today=today, entries=entries), day(at))


def test_a_move_in_that_nobody_noted_leaves_the_tree_outside_for_all_that_is_known():
    one = asked("2021-12-25", "2021-12-25")
    assert (one.bench, one.unnoted, one.elsewhere) == ("shed", "in", "open")
    two = asked("2022-02-01", "2022-02-01")
    assert (two.bench, two.unnoted, two.elsewhere) == ("shed", "in", "open")


@pytest.mark.parametrize("said", [{"did": "shelter"}, {"moved_to": "shed"}])
def test_a_note_that_it_is_in_ends_the_doubt(said):
    one = asked("2021-12-26", "2021-12-26", notes({"date": "2021-12-20", **said}))
    assert (one.bench, one.unnoted, one.elsewhere) == ("shed", "", "")


def test_what_the_grower_has_taken_as_done_and_what_stands_outside_is_no_doubt():
    sure = standing({"winter_bench": "shed", "frost_limit_c": 0}, at="2022-01-25", today="2022-01-25")
    assert (sure.bench, sure.unnoted) == ("shed", "")
    outside = asked("2021-12-26", "2021-12-25", notes({"date": "2021-12-24", "moved_to": "open"}))
    assert outside.bench == "open" or outside.elsewhere == "open"
    assert asked("2021-07-01", "2021-07-01").unnoted == ""


@pytest.mark.parametrize(("published", "unnoted"), [("2021-02-20", "out"), ("2021-03-08", "")])
def test_a_day_to_come_out_that_passed_without_a_note_leaves_it_outside_perhaps(published, unnoted):
    """The calendar brought it out on a day that is over; a later day has taken its place."""
    was = PreviousTask(day(published), "Bring out", "bring-out", "work", 2021, None, None)
    before = PreviousTree({"bring-out/2021/1/work": was}, made_on=day("2021-02-19"))
    noted = notes({"date": "2020-12-20", "moved_to": "shed"})
    years = resolved(LATE_OUT, SHELTERED, today="2021-03-01", entries=noted)
    years.previous = before
    one = stand_on(years, day("2021-03-01"))
    assert (one.bench, one.unnoted, one.elsewhere) == ("shed", unnoted, "open" if unnoted else "")


@pytest.mark.parametrize(
    "said", [{"moved_to": "shed"}, {"put_off": "bring-out", "until": "2021-03-20"}], ids=["stays", "put-off"]
)
def test_a_note_after_that_day_says_where_it_is(said):
    was = PreviousTask(
        day("2021-03-10"),
        "Bring out",
        "bring-out",
        "work",
        2021,
        None,
        None,
        Move(day("2021-03-03"), NotDoneBy(day("2021-02-20")), unnoted=day("2021-02-20")),
    )
    noted = notes({"date": "2020-12-20", "moved_to": "shed"})
    for entries, unnoted in ((noted, "out"), ([*noted, *notes({"date": "2021-02-25", **said})], "")):
        years = resolved(LATE_OUT, SHELTERED, today="2021-03-01", entries=entries)
        years.previous = PreviousTree({"bring-out/2021/1/work": was}, made_on=day("2021-02-28"))
        assert stand_on(years, day("2021-03-01")).unnoted == unnoted
