"""A show: the chance by the members, levers that move it the right way, and who is never pushed."""

from dataclasses import replace
from datetime import date

import pytest
from small_world import (
    FLOWERING,
    collection,
    day,
    notes,
    pack_text,
    resolved,
    rule,
    rulebook,
    smooth_record,
)

from care_planner.outlook.shows.bloom import (
    HELD_BEFORE_DAYS,
    LATEST_BACK_DAYS,
    LONGEST_DAYS,
    Tried,
    bloom_for_show,
    bloom_on,
)
from care_planner.outlook.shows.forbidden import forbidden_works, show_entries
from care_planner.plan import make_plan
from care_planner.show.at_show import show_blocks
from care_planner.show.passages import passage_lines
from care_planner.years.basis import Basis
from care_planner.years.profiles import noted_trees, twins

REPOT = rule(
    "repot", "opens: {stage: bud-swell}\ncloses: {stage: flush}\nchoose: mid\nheavy: yes", kind="roots"
)
BUDS_OFF = rule(
    "buds-off",
    "opens: {stage: first-flower}\ncloses: {stage: half-open}\nchoose: mid\n"
    "effects: [{ends_stage: end-of-bloom}]",
    kind="flowers",
)
FEED = rule("feed", "opens: {stage: bud-swell}\ncloses: {stage: flush}\nchoose: mid")
SHELTER = rule(
    "shelter",
    'opens: {month_day: "11-01"}\ncloses: {month_day: "11-30"}\nchoose: late\n'
    "effects: [{moves_to: winter-bench}]\nwithout_note: done",
    kind="shelter",
)
BRING_OUT = rule(
    "bring-out",
    'opens: {month_day: "03-22"}\ncloses: {month_day: "05-20"}\nchoose: early\n'
    "effects: [{moves_to: bench}]\nwithout_note: done",
    kind="shelter",
)
PLAIN = rulebook(pack_text(FLOWERING))
SHELTERED = rulebook(pack_text(FLOWERING, SHELTER, BRING_OUT))
RULES = rulebook(pack_text(FLOWERING, REPOT, BUDS_OFF, FEED))
TODAY = "2012-03-15"


def bloom(show, today=TODAY, rules=PLAIN, entries=(), **tree):
    told = collection({"taxon": "flowering-tree", **tree})
    basis = Basis(told, smooth_record(), rules, day(today))
    noted = noted_trees(told, entries, basis.shared)
    ((profile, _),) = twins(noted, day(today), learnt=basis.learn(noted))
    return bloom_for_show("tree-1", profile, basis.shared, basis.weather_years, rules, day(show))


def third_open():
    """The median day of a third open."""
    return int(bloom("2012-05-01").chance.third_open[1])


def iso(at):
    return date.fromordinal(at).isoformat()


def test_the_three_shares_are_all_there_is():
    for apart in (-20, -3, 0, 3, 6, 20):
        chance = bloom(iso(third_open() + apart)).chance
        assert chance.early + chance.wanted + chance.late == pytest.approx(1.0)
        assert min(chance.early, chance.wanted, chance.late) >= 0


def test_the_day_it_is_likeliest_is_the_day_a_third_is_open_or_soon_after():
    wanted = {apart: bloom(iso(third_open() + apart)).chance.wanted for apart in range(-15, 20, 3)}
    assert abs(max(wanted, key=wanted.get)) <= 6
    assert wanted[-15] < max(wanted.values()) > wanted[18]


def test_a_noted_share_settles_it():
    years = resolved(
        PLAIN,
        {"taxon": "flowering-tree"},
        today="2012-05-20",
        entries=notes({"date": "2012-05-19", "saw": {"open": "40%"}}),
    )
    chance = bloom_on(years, day("2012-05-19"))
    assert chance.wanted > 0.9


def test_a_cold_place_makes_it_later_and_longer_makes_it_later_still():
    show = third_open() + 12
    found = bloom(iso(show))
    assert {tried.lever for tried in found.tried} == {"cold-store"}
    moves = [tried.moves[1] for tried in found.tried]
    assert moves == sorted(moves) and moves[0] > 0
    for tried in found.tried:
        assert day(TODAY) < tried.start and tried.start + tried.days <= show
        assert tried.start + tried.days <= max(show - HELD_BEFORE_DAYS, day(TODAY) + 1 + tried.days)
        assert tried.days <= LONGEST_DAYS
    assert found.best >= found.chance.wanted


def test_a_shelter_makes_it_earlier_where_there_is_one():
    show = iso(third_open() - 12)
    assert bloom(show).tried == ()
    found = bloom(show, winter_bench="shed")
    assert found.tried and {tried.lever for tried in found.tried} == {"warm-shelter"}
    assert all(tried.moves[1] <= 0 for tried in found.tried)


@pytest.mark.parametrize(
    ("tree", "entries", "why"),
    [
        ({"condition": "weak"}, (), "weak"),
        ({}, notes({"date": "2012-03-10", "did": "repot"}), "roots"),
    ],
)
def test_a_weak_or_freshly_worked_tree_is_offered_nothing(tree, entries, why):
    found = bloom(iso(third_open() + 12), rules=RULES, entries=entries, **tree)
    assert (found.why_not, found.tried) == (why, ())


def test_what_is_hopeless_offers_nothing_that_moves_nothing_and_says_how_to_go_on():
    found = bloom(iso(third_open() - 35))
    still = Tried("warm-shelter", day(TODAY) + 1, 7, (0.0, 0.0, 0.0), found.chance)
    told = collection({"taxon": "flowering-tree"})
    words = "\n".join(passage_lines(show_blocks([replace(found, tried=(still,))], told, RULES)))
    assert "it is hopeless" in words and "could move it" not in words
    assert "Take tree-1 out of `show:`" in words


def test_a_day_that_has_passed_is_said():
    assert bloom("2012-03-01").why_not == "passed"


def test_what_the_show_forbids_is_laid_into_the_plan_in_its_season():
    assert forbidden_works(RULES.taxa["flowering-tree"]) == ("buds-off", "repot")
    told = collection({"taxon": "flowering-tree"}, show={"date": iso(third_open()), "trees": ["tree-1"]})
    planned = {}
    for name, entries in (("without", []), ("with", show_entries(told, RULES, day(TODAY)))):
        plan = make_plan(told, entries, smooth_record(), RULES, day(TODAY))
        planned[name] = {task.rule for task in plan.tasks if task.season == 2012 and task.kind == "work"}
    assert {"repot", "buds-off"} <= planned["without"]
    assert planned["with"] == planned["without"] - {"repot", "buds-off"}
    assert show_entries(told, RULES, day("2011-06-01")) == []
    assert show_entries(told, RULES, third_open() + 1) == []


def test_no_buds_are_rubbed_off_in_the_autumn_before_a_show():
    rub_off = rule(
        "rub-off",
        "opens: {stage: end-of-growth}\ncloses: {stage: bud-swell, season: next}\nchoose: early\n"
        "effects: [{season: next, set: {buds: none}}]",
        kind="flowers",
    )
    rules, at = rulebook(pack_text(FLOWERING, rub_off)), day("2011-09-01")
    told = collection({"taxon": "flowering-tree"}, show={"date": "2012-05-10", "trees": ["tree-1"]})
    planned = [
        [task for task in make_plan(told, entries, smooth_record(), rules, at).tasks if task.season == 2011]
        for entries in ([], show_entries(told, rules, at))
    ]
    assert [task.rule for task in planned[0]] == ["rub-off"] and planned[1] == []


def test_a_cold_place_ends_two_weeks_before_the_show_at_the_latest():
    show = third_open() + 12
    found = bloom(iso(show), today=iso(show - 27)).tried
    assert {tried.lever for tried in found} == {"cold-store"}
    assert max(tried.start + tried.days for tried in found) <= show - LATEST_BACK_DAYS


def test_a_cold_place_holds_a_tree_whose_day_to_come_out_falls_in_its_stay():
    """The planned bring-out took it out of the place that was being tried: +0 days for the longest stay."""
    told = {"rules": SHELTERED, "winter_bench": "shed", "today": "2012-03-01"}
    first = bloom("2012-05-01", **told).chance.third_open[1]
    found = bloom(iso(int(first) + 10), **told)
    out = day("2012-03-22")
    assert any(tried.start < out < tried.start + tried.days - 3 for tried in found.tried)
    moves = [tried.moves[1] for tried in found.tried]
    assert moves == sorted(moves) and moves[0] > 0


def test_a_cold_place_is_offered_only_before_colour():
    third = third_open()
    late = bloom(iso(third + 45), today=iso(third + 5))
    assert late.tried == () and late.coloured is not None and late.coloured < third
    early = bloom(iso(third + 12))
    assert early.coloured is None and all(tried.start < late.coloured for tried in early.tried)
    told = collection({"taxon": "flowering-tree"}, show={"date": iso(late.day), "trees": ["tree-1"]})
    said = " ".join(" ".join(passage_lines(show_blocks([late], told, PLAIN))).split())
    assert "It cannot be held back any more: a cold place does that only before any bud shows colour" in said
