"""What work and notes do to a stage, how members are made, and what a tree feels that moves."""

from datetime import date
from statistics import NormalDist

import numpy as np
import pytest
from hand_made import FIRST, day, frame, mild, view, weather
from small_world import FLOWERING, PLAIN, notes, pack_text, resolved, rule, rulebook, smooth_record

from care_planner.collection.site import Bench
from care_planner.rulebook.effect import Effect
from care_planner.rulebook.moment import Warmth
from care_planner.rulebook.taxon import Stage
from care_planner.spans import NEVER
from care_planner.stages.history import History
from care_planner.stages.members import (
    PACES,
    known_years,
    member_rows,
    member_scores,
    quantile,
    reached_share,
)
from care_planner.stages.stage import given_not_yet, stage_days
from care_planner.stages.weather import TrackWeather

FLUSH = Stage.model_validate(
    {"id": "flush", "title": "Flush", "bbch": "31", "reached": {"month_day": "05-01"}}
)
BLOOM = FLUSH.model_copy(update={"id": "bloom", "flowering": True})


def effect(**said: object) -> Effect:
    return Effect.model_validate(said)


SETS_BACK = effect(sets_back={"stages": ["flush"], "days": "7"})
ENDS = effect(ends_stage="flush")


def reached(stage: Stage = FLUSH, *effects: tuple[Effect, float], buds: bool = True, **noted: object) -> str:
    found = stage_days(stage, 0, view(), History(**noted), iter(effects), buds)[0]  # type: ignore[arg-type]
    return date.fromordinal(int(found)).isoformat() if np.isfinite(found) else "never"


# Effects and notes.


def test_work_sets_back_a_stage_that_comes_after_it_only() -> None:
    assert reached(FLUSH, (SETS_BACK, day("2021-03-20"))) == "2021-05-08"
    assert reached(FLUSH, (SETS_BACK, day("2021-05-01"))) == "2021-05-01"
    assert reached(FLUSH, (SETS_BACK, NEVER)) == "2021-05-01"


def test_work_ends_a_stage_early_never_late() -> None:
    assert reached(FLUSH, (ENDS, day("2021-04-20"))) == "2021-04-20"
    assert reached(FLUSH, (ENDS, day("2021-05-20"))) == "2021-05-01"


def test_without_buds_flowering_stages_never_come() -> None:
    assert reached(BLOOM, buds=False) == "never"
    assert reached(FLUSH, buds=False) == "2021-05-01"


def test_what_was_seen_wins_over_what_is_expected() -> None:
    seen = {("flush", 2021): day("2021-05-09")}
    assert reached(FLUSH, (SETS_BACK, day("2021-03-20")), stages=seen) == "2021-05-09"
    assert reached(FLUSH, stages={("flush", 2020): day("2020-05-09")}) == "2021-05-01"


def test_not_yet_moves_only_what_lay_before_it() -> None:
    assert reached(FLUSH, not_yet={("flush", 2021): day("2021-05-10")}) == "2021-05-11"
    assert reached(FLUSH, not_yet={("flush", 2021): day("2021-04-10")}) == "2021-05-01"


def test_given_not_yet_a_stage_keeps_the_spread_of_those_who_have_it_before_them() -> None:
    """The law of a day given that it is later than another: its quantiles, worked by hand."""
    days = np.array([10.0, 11.0, 12.0, 13.0, 14.0, 15.0, NEVER, np.nan])
    found = given_not_yet(days, 12)
    assert found[3:7].tolist() == [13.0, 14.0, 15.0, NEVER]
    assert np.isnan(found[7])
    assert found[:3].tolist() == [13.0, 14.0, 15.0]
    assert given_not_yet(days, 9)[:7].tolist() == days[:7].tolist()
    # All had it behind them: from the next day on.
    assert given_not_yet(days[:6], 20).tolist() == [21.0] * 6


def test_a_later_stage_seen_bounds_an_earlier_one() -> None:
    assert reached(FLUSH, at_latest={("flush", 2021): day("2021-04-10")}) == "2021-04-10"


FLOWERS = rulebook(pack_text(FLOWERING))
TREE = {"taxon": "flowering-tree"}


def middle(id: str, *written: dict[str, object], today: str) -> float:
    years = resolved(FLOWERS, TREE, entries=notes(*written), today=today)
    return quantile(years.stage(id, 0), 0.5)


def test_half_open_seen_early_brings_the_first_flower_before_it() -> None:
    """100 degree-days above 0 at about 13 to 15 degC: a week."""
    note = {"date": "2021-04-20", "saw": "half-open"}
    first = middle("first-flower", note, today="2021-04-21")
    assert day("2021-04-10") <= first <= day("2021-04-16")
    assert middle("half-open", note, today="2021-04-21") == day("2021-04-20")


def test_end_of_bloom_seen_early_bounds_the_bloom() -> None:
    note = {"date": "2021-04-25", "saw": "end-of-bloom"}
    for id in ("first-flower", "half-open"):
        assert middle(id, note, today="2021-04-26") <= day("2021-04-25")


@pytest.mark.parametrize(("share", "at_most"), [(0.01, "2021-05-01"), (0.5, "2021-04-27"), (1, "2021-04-20")])
def test_a_share_open_reckons_the_first_flower_back(share: float, at_most: str) -> None:
    note = {"date": "2021-05-01", "saw": {"open": share}}
    assert middle("first-flower", note, today="2021-05-02") <= day(at_most)


def test_the_first_flower_is_no_later_than_the_first_share_noted() -> None:
    """A curve that begins with a tenth open: less than that is the first flower itself."""
    rules = rulebook(pack_text(FLOWERING).replace("{open: 0.0, sum: 0}", "{open: 0.1, sum: 0}"))
    note = {"date": "2021-05-01", "saw": {"open": 0.05}}
    first = resolved(rules, TREE, entries=notes(note), today="2021-05-02").stage("first-flower", 0)
    assert set(first) == {day("2021-05-01")}


def test_nothing_open_is_not_yet() -> None:
    note = {"date": "2021-05-20", "saw": {"open": 0}}
    first = resolved(FLOWERS, TREE, entries=notes(note), today="2021-05-21").stage("first-flower", 0)
    assert first.min() == day("2021-05-21")


def test_rest_seen_in_january_is_that_of_the_season_before() -> None:
    """BBCH principal stage 9 ends a season (Meier 2001); 01 seen in January begins one."""
    years = resolved(rulebook(PLAIN), entries=notes({"date": "2021-01-05", "saw": "rest"}))
    assert years.history.stages == {("rest", 2020): day("2021-01-05")}
    years = resolved(rulebook(PLAIN), entries=notes({"date": "2021-01-05", "saw": 97}))
    assert years.history.stages == {("rest", 2020): day("2021-01-05")}
    years = resolved(rulebook(PLAIN), entries=notes({"date": "2021-01-05", "saw": "bud-swell"}))
    assert years.history.stages == {("bud-swell", 2021): day("2021-01-05")}
    years = resolved(rulebook(PLAIN), entries=notes({"date": "2020-11-20", "saw": "rest"}))
    assert years.history.stages == {("rest", 2020): day("2020-11-20")}


def test_early_and_late_varieties_differ_in_their_flowers_only() -> None:
    text = pack_text(FLOWERING).replace("{spread: 0.1,", "{spread: 0.1, early: 0.8, late: 1.2,")
    kinds = ("early", "mid", "late")
    years = [resolved(rulebook(text), {**TREE, "season_of_variety": kind}) for kind in kinds]
    first = [quantile(one.stage("first-flower", 0), 0.5) for one in years]
    assert first == sorted(set(first))
    assert len({quantile(one.stage("bud-swell", 0), 0.5) for one in years}) == 1


def test_a_choice_for_want_of_room_changes_stages_too() -> None:
    """The prune has no room, so the bloom is ended before the deadline: end-of-bloom feels it."""
    body = """
opens: {stage: end-of-bloom, plus_days: 10}
closes: {month_day: "05-10"}
no_room:
  - goal: [balanced]
    says: end bloom early
    costs: the rest of the bloom
    work: before-it-closes
    effects: [{ends_stage: flower-bud-set}]
"""
    rules = rulebook(pack_text(FLOWERING, rule("prune", body, "pruning")))
    years = resolved(rules, TREE)
    made = years.outcomes["prune", 0]
    assert made.state == "planned" and made.day <= day("2021-05-10")
    assert years.stage("flower-bud-set", 0).max() == made.day


# Members.


def test_members_are_weather_years_times_paces() -> None:
    rows, paces = member_rows(3), member_scores(3)
    assert len(rows) == len(paces) == 3 * PACES
    assert rows.tolist() == sorted(rows.tolist())
    # Each year has paces of its own.
    assert len(set(paces)) == 3 * PACES


@pytest.mark.parametrize("years", [1, 2, 33])
def test_paces_stand_for_the_whole_normal_law(years: int) -> None:
    scores = member_scores(years)
    assert np.mean(scores) == pytest.approx(0.0, abs=1e-12)
    assert np.std(scores) == pytest.approx(1.0)
    tenth = NormalDist().inv_cdf(0.1)
    assert np.mean(scores < tenth) == pytest.approx(0.1, abs=1 / (years * PACES))


def test_quantiles_are_days_that_members_have() -> None:
    days = np.array([10.0, 20.0, 30.0, NEVER])
    assert [quantile(days, share) for share in (0.1, 0.25, 0.5, 0.75)] == [10.0, 10.0, 20.0, 30.0]
    assert quantile(days, 0.76) == NEVER
    assert quantile(np.array([np.nan, 7.0]), 0.5) == 7.0
    assert np.isnan(quantile(np.array([np.nan]), 0.5))
    assert reached_share(days) == 0.75
    assert np.isnan(reached_share(np.array([np.nan])))


def test_years_behind_a_date_are_counted_once_each() -> None:
    days = np.array([1.0, np.nan, np.nan, np.nan, 5.0, 6.0])
    assert known_years(days, np.array([0, 0, 1, 1, 2, 2])) == 2


# The weather a tree feels.


def test_a_tree_that_moves_has_the_days_of_each_bench() -> None:
    benches = {"open": weather(mild), "shed": weather(mild, Bench(offset_c="5"))}  # type: ignore[arg-type]
    column = day("2021-11-20") - FIRST
    track = TrackWeather(benches, "open", [(column, "shed"), (column + 100, "open")])
    base_5 = Warmth.model_validate({"method": "average", "base_c": "5"})
    daily = track.daily(base_5)[0]
    assert daily[column - 1] == daily[column + 100] == 10
    assert set(daily[column : column + 100]) == {15}


def test_a_sheltered_tree_wakes_earlier_in_a_warmer_shelter() -> None:
    """The same record, the same tree, but from autumn to spring under a floor of 8 degC or of 2 degC."""
    shelter = rule(
        "shelter",
        "opens: {month_day: '12-01'}\ncloses: {month_day: '12-02'}\neffects: [{moves_to: winter-bench}]\n"
        "without_note: done",
    )
    rules = rulebook(pack_text(PLAIN, shelter))
    swells = []
    for floor in (2, 8):
        benches = {"open": {}, "shed": {"floor_c": floor}}
        years = resolved(rules, {"winter_bench": "shed"}, record=smooth_record(), benches=benches)
        swells.append(quantile(years.stage("bud-swell", 0), 0.5))
    outside = quantile(resolved(rules, {}).stage("bud-swell", 0), 0.5)
    assert swells[1] < swells[0] <= outside


def test_frame_of_the_south_begins_half_a_year_later() -> None:
    assert frame(-50.0).start_of(0) - frame().start_of(0) == 182
    assert frame().last_day_for(0) == day("2022-02-15")
