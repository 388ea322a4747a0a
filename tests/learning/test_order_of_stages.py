"""Whatever is believed of single stages, none overtakes another that needs less of the very same warmth."""

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from noted_seasons import FIRST, KOREAN, SATSUKI
from small_world import collection, day, shipped, smooth_record

from care_planner.learning.pace_belief import NOTHING_LEARNT, PaceBelief, belief_of, paces_in_row
from care_planner.rulebook.pack import TaxonRules
from care_planner.stages.members import member_scores, quantile
from care_planner.stages.reach import Floats
from care_planner.years import state as resolving
from care_planner.years.basis import Basis
from care_planner.years.profiles import Profile, noted_trees, resolve_profile
from care_planner.years.state import TreeYears

RULEBOOK = shipped("satsuki-azalea", "korean-azalea")
SEASON = 2012
both = pytest.mark.parametrize("taxon", ["satsuki-azalea", "korean-azalea"])


@st.composite
def some_beliefs(draw: st.DrawFn) -> PaceBelief:
    """Means far apart and any spreads, of every stage of both packs, in the seasons of a plan."""
    stages = sorted({*SATSUKI.stages, *KOREAN.stages})
    keys = [(stage, season) for stage in stages for season in range(SEASON - 1, SEASON + 3)]
    random = np.random.default_rng(draw(st.integers(0, 100_000)))
    size = draw(st.sampled_from([0.05, 0.2, 0.6]))
    return belief_of({key: (random.normal(0, size), random.uniform(0.005, 0.3)) for key in keys})


@cache
def basis() -> Basis:
    return Basis(collection({}), smooth_record(), RULEBOOK, day(f"{SEASON}-01-10"))


def years(rules: TaxonRules, belief: PaceBelief, variety: str = "mid") -> TreeYears:
    """The years of a tree of which that is believed, nothing noted."""
    trees = collection({"taxon": rules.id, "season_of_variety": variety})
    ((_, facts, _),) = noted_trees(trees, (), basis().shared)
    return resolve_profile(Profile(facts, (), belief=belief), RULEBOOK, basis().with_empty_board())


def in_order(taxon: str, belief: PaceBelief, variety: str = "mid") -> None:
    """Every stage comes after those before it, in every member of both seasons; one that a very slow tree
    does not reach in a season is followed by none."""
    rules = RULEBOOK.taxa[taxon]
    found = years(rules, belief, variety)
    pairs = [(before, stage) for stage, row in rules.in_row.items() for before, _ in row]
    assert len(pairs) >= 3
    reached = 0
    for step in (0, 1):
        for before, stage in pairs:
            earlier, later = (np.nan_to_num(found.stage(id, step), nan=np.inf) for id in (before, stage))
            assert (earlier <= later).all(), (before, stage, step)
            reached += int(np.isfinite(later).sum())
    assert reached > 0


@given(some_beliefs())
@both
def test_paces_keep_every_sum_above_those_before_it(taxon: str, belief: PaceBelief) -> None:
    rules = RULEBOOK.taxa[taxon]
    sums = {id: stage.reached.warmth.sum for id, stage in rules.stages.items() if stage.reached.warmth}
    scores = member_scores(12)
    needs = {id: sums[id] * paces_in_row(belief, id, SEASON, rules, scores) for id in sums}
    for id, row in rules.in_row.items():
        for before, part in row:
            assert part == pytest.approx(sums[before] / sums[id]) and part < 1
            assert (needs[before] <= needs[id] + 1e-9).all(), (before, id)


@settings(max_examples=25)
@given(some_beliefs())
@both
def test_no_stage_overtakes_one_that_needs_less(taxon: str, belief: PaceBelief) -> None:
    in_order(taxon, belief)


@settings(max_examples=25)
@given(some_beliefs())
@both
def test_nor_in_a_late_variety(taxon: str, belief: PaceBelief) -> None:
    in_order(taxon, belief, "late")


@settings(max_examples=25)
@given(some_beliefs())
@both
def test_nor_in_an_early_variety(taxon: str, belief: PaceBelief) -> None:
    in_order(taxon, belief, "early")


@both
def test_where_beliefs_keep_the_order_they_are_what_counts(taxon: str) -> None:
    """Equal beliefs of all stages are never lifted: the order is not kept by making all trees slow."""
    rules, scores = RULEBOOK.taxa[taxon], member_scores(12)
    for stage in rules.in_row:
        spread = rules.taxon.pace.spread
        all_alike = belief_of({(id, SEASON): (-0.1, spread) for id in rules.stages})
        mean, rounded = all_alike.of(stage, SEASON, rules.taxon.pace)
        assert paces_in_row(all_alike, stage, SEASON, rules, scores) == pytest.approx(
            np.exp(mean + rounded * scores)
        )


@both
def test_a_fast_flower_waits_for_slow_buds_only_as_long_as_it_must(taxon: str) -> None:
    """The buds of a slow tree, whose flowers are believed to be fast: on one day, not before."""
    rules = RULEBOOK.taxa[taxon]
    normals = {("bud-swell", SEASON): (0.5, 0.01), (FIRST, SEASON): (-1.0, 0.01)}
    row = [stage for stage, _ in rules.in_row[FIRST] if stage != "bud-swell"]
    normals |= {(stage, SEASON): (-1.0, 0.01) for stage in row}
    found = years(rules, belief_of(normals))
    buds, flower = (quantile(found.stage(stage, 0), 0.5) for stage in ("bud-swell", FIRST))
    assert buds == flower
    assert flower < quantile(years(rules, NOTHING_LEARNT).stage(FIRST, 0), 0.5)


# The checks are seen to fail.


def test_a_planted_fault_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every stage by its own belief alone."""

    def alone(
        belief: PaceBelief, stage: str, season: int, rules: TaxonRules, scores: Floats, variety: float
    ) -> Floats:
        mean, spread = belief.of(stage, season, rules.taxon.pace)
        return np.asarray(np.exp(mean + spread * scores))

    fast_flower = belief_of({("bud-swell", SEASON): (0.5, 0.01), (FIRST, SEASON): (-1.0, 0.01)})
    in_order(SATSUKI.id, fast_flower)
    basis.cache_clear()
    monkeypatch.setattr(resolving, "paces_in_row", alone)
    with pytest.raises(AssertionError):
        in_order(SATSUKI.id, fast_flower)
    basis.cache_clear()
