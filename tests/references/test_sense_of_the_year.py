"""The year of a satsuki makes sense on real records, whatever the tree: common practice, no source."""

from datetime import date
from functools import cache
from itertools import product

import numpy as np
import pytest
from planning import SATSUKI, entries, rulebook, stage
from test_bloom import PLACES, TODAY, record

from care_planner.collection.model import Collection
from care_planner.plan import Plan, make_plan
from care_planner.words.chains import why_lines_of
from care_planner.words.notices import notice_lines

GOALS = ("flowers", "balanced", "vigour")
TREES = [
    {
        **SATSUKI,
        "id": f"{goal[0]}-{bench[0]}-{variety}-{size[0]}-{seen}",
        "goal": goal,
        "bench": bench,
        "season_of_variety": variety,
        "size": size,
        "multicoloured": seen,
    }
    for goal, bench, variety, size, seen in product(
        GOALS, ("open", "pocket"), ("early", "mid", "late"), ("small", "large"), ("yes", "no")
    )
]
BLOOM_WORK = {"petal-blight-look", "midday-shade", "rain-cover-in-bloom", "thin-flowers", "tag-colours"}


@cache
def grid(place: str) -> Plan:
    site = {"latitude": PLACES[place][1], "longitude": 0.0, "timezone": "UTC", "weather": "x.csv"}
    benches = {"open": {}, "pocket": {"offset_c": -2.0}}
    trees = Collection.model_validate({"site": site, "benches": benches, "trees": TREES})
    return make_plan(trees, [], record(place), rulebook(), TODAY)


@pytest.mark.parametrize("place", PLACES)
def test_no_work_is_firm_on_a_day_that_is_right_in_no_year(place: str) -> None:
    assert [(t.key, t.chance) for t in grid(place).tasks if t.kind == "work" and t.chance == 0.0] == []


@pytest.mark.parametrize("place", PLACES)
def test_no_prune_before_flowers_and_no_bloom_work_after_it(place: str) -> None:
    plan = grid(place)
    for tree in TREES:
        for season in (2027, 2028):
            own = [t for t in plan.tasks if (t.tree, t.season, t.kind) == (tree["id"], season, "work")]
            prunes = [t.day for t in own if t.rule == "prune-after-bloom"]
            if prunes:
                first = stage(plan, "first-flower", season, str(tree["id"])).p50
                assert prunes[0] > first, tree["id"]
                late = [(t.key, t.day - prunes[0]) for t in own if t.rule in BLOOM_WORK and t.day > prunes[0]]
                assert late == []


@pytest.mark.parametrize("place", PLACES)
def test_ending_bloom_early_is_followed_by_the_prune(place: str) -> None:
    plan = grid(place)
    ended = {
        (t.tree, t.season): t.day for t in plan.tasks if t.rule == "end-bloom-early" and t.kind == "work"
    }
    assert ended or place != "brussels"
    pruned = {(t.tree, t.season): t.day for t in plan.tasks if t.rule == "prune-after-bloom"}
    followed = [key for key, day in ended.items() if key in pruned and 0 <= pruned[key] - day <= 14]
    assert followed == list(ended)


def test_a_tree_of_untold_age_is_sheltered_as_a_young_one() -> None:
    site = {"latitude": 36.55, "longitude": 0.0, "timezone": "UTC", "weather": "x.csv"}
    trees = [
        {"id": "young", "taxon": "satsuki-azalea", "bench": "open", "age": "young"},
        {"id": "untold", "taxon": "satsuki-azalea", "bench": "open"},
    ]
    kept = Collection.model_validate({"site": site, "benches": {"open": {}}, "trees": trees})
    plan = make_plan(kept, entries(), record("utsunomiya"), rulebook(), TODAY)
    days = {t.tree: t.day for t in plan.tasks if t.rule == "shelter" and t.season == 2027}
    assert days["young"] == days["untold"]
    assert any("untold: age is not known" in words for words in notice_lines(plan.notices))


def test_days_missing_each_august_cost_no_spring() -> None:
    """A policy for gaps per stage: what does not need the missing days is known."""
    from dataclasses import replace

    base = record("utsunomiya")
    tmin = base.tmin_c.copy()
    for year in range(1976, 2026):
        start = date(year, 8, 1).toordinal() - base.first_day
        tmin[start : start + 15] = np.nan
    site = {"latitude": 36.55, "longitude": 0.0, "timezone": "UTC", "weather": "x.csv"}
    trees = [{**SATSUKI, "id": "s"}]
    kept = Collection.model_validate({"site": site, "benches": {"open": {}}, "trees": trees})
    plan = make_plan(kept, [], replace(base, tmin_c=tmin), rulebook(), TODAY)
    assert stage(plan, "first-flower", 2027).basis == "expected"
    assert {t.rule for t in plan.tasks} >= {"tag-colours", "spring-feed"}
    # A cold night may hide in the gap: the first one is not known, and that is said.
    assert "s: 2027 and 2028, shelter: unknown, the weather it needs is not known" in notice_lines(
        plan.notices
    )
    assert any(
        "50 seasons (1976 to 2025) are left out: 15 days of 365" in words
        for words in notice_lines(plan.notices)
    )
    spring = base.tmin_c.copy()
    for year in range(1976, 2026):
        start = date(year, 4, 1).toordinal() - base.first_day
        spring[start : start + 50] = np.nan
    plan = make_plan(kept, [], replace(base, tmin_c=spring), rulebook(), TODAY)
    assert stage(plan, "first-flower", 2027).basis == "unknown"
    assert "shelter" in {t.rule for t in plan.tasks}


def test_a_look_comes_before_buds_are_taken_off() -> None:
    """Buds of young trees come off up to ten days before the first flower: so is the look that settles it."""
    site = {"latitude": 36.55, "longitude": 0.0, "timezone": "UTC", "weather": "x.csv"}
    trees = [{**SATSUKI, "id": "s", "age": "young", "goal": "vigour"}]
    kept = Collection.model_validate({"site": site, "benches": {"open": {}}, "trees": trees})
    plan = make_plan(kept, [], record("utsunomiya"), rulebook(), TODAY)
    (look,) = (t for t in plan.tasks if t.key == "s/first-flower/2027/1/look")
    assert "all buds off" in why_lines_of(look)[0]
    (work,) = (t for t in plan.tasks if (t.rule, t.season, t.kind) == ("all-buds-off", 2027, "work"))
    # Before the middle date on which the work opens, since half of the years are earlier.
    assert work.window.opens is not None and look.day <= work.window.opens - 3
