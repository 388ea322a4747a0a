"""Notes of past seasons in a whole plan: where dates go, for which trees, and what may not matter."""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from noted_seasons import FIRST, KOREAN, NEXT, SATSUKI, day_at
from small_world import collection, day, notes, shipped, smooth_record

from care_planner import plan as planning
from care_planner.journal.model import Entry
from care_planner.learning.notes import Note
from care_planner.learning.pace_belief import NOTHING_LEARNT
from care_planner.plan import Plan, PlanCache, make_plan
from care_planner.rulebook.pack import TaxonRules
from care_planner.tasks.stage_rows import StageRow
from care_planner.years import lessons
from care_planner.years.workdays import Board

RULEBOOK = shipped("satsuki-azalea", "korean-azalea")
PAST = range(NEXT - 3, NEXT)
TREES = (
    {"id": "noted", "taxon": "satsuki-azalea", "goal": "flowers"},
    {"id": "alike", "taxon": "satsuki-azalea", "goal": "flowers"},
    {"id": "other", "taxon": "korean-azalea", "goal": "flowers"},
)
# It learns nothing, but its work joins the days of its neighbours.
DEAF = {"id": "unmoved", "taxon": "satsuki-azalea", "goal": "flowers", "learn": False}


def early(days: int = 6, tree: str = "noted", rules: TaxonRules = SATSUKI, **more: object) -> list[Entry]:
    """First flowers of the past seasons, noted so many days before the taxon's own."""
    dates = [str(date.fromordinal(day_at(0.0, FIRST, season, rules) - days)) for season in PAST]
    return notes(*({"date": on, "saw": FIRST, **more} for on in dates), tree=tree)


def planned(entries: list[Entry], *trees: Mapping[str, Any], cache: PlanCache | None = None) -> Plan:
    """The plan of the season after."""
    kept, today = collection(*(trees or TREES)), day(f"{NEXT}-01-10")
    return make_plan(kept, entries, smooth_record(), RULEBOOK, today, cache=cache)


def row(plan: Plan, tree: str = "noted", stage: str = FIRST) -> tuple[int, int, int]:
    """10, 50 and 90 % of a stage of the season after, in ordinals."""
    rows = {(one.tree, one.stage, one.season): one for one in plan.stages}
    found = rows[tree, stage, NEXT]
    return found.p10, found.p50, found.p90


def everything(plan: Plan) -> tuple[object, ...]:
    """All that a plan says."""
    return list(plan.tasks), list(plan.stages), list(plan.notices), list(plan.done), dict(plan.fates)


def spring(plan: Plan, tree: str) -> list[StageRow]:
    """A tree's stages up to the first flower. Later ones hang on work, which may go with another tree's."""
    stages = ("dormancy-broken", "bud-swell", "bud-burst", "new-leaves", FIRST)
    return [row for row in plan.stages if row.tree == tree and row.stage in stages]


# Earlier and narrower.


def test_three_early_seasons_make_this_one_early_and_surer() -> None:
    before, after = row(planned([])), row(planned(early()))
    assert 2 <= before[1] - after[1] <= 6
    assert after[2] - after[0] < before[2] - before[0]


def test_late_ones_make_it_late() -> None:
    assert 2 <= row(planned(early(-6)))[1] - row(planned([]))[1] <= 6


def test_work_that_hangs_on_the_flower_moves_with_it() -> None:
    """Not only the stage's row: spent flowers are picked earlier."""

    def first_pick(plan: Plan) -> int:
        wanted = ("noted", "spent-flowers-off", NEXT)
        return min(task.day for task in plan.tasks if (task.tree, task.rule, task.season) == wanted)

    assert first_pick(planned(early())) < first_pick(planned([]))


def test_notes_that_agree_leave_the_middle_where_it_was() -> None:
    before, after = row(planned([])), row(planned(early(0)))
    assert abs(after[1] - before[1]) <= 1
    assert after[2] - after[0] < before[2] - before[0]


def test_the_stages_of_one_bloom_stay_in_order() -> None:
    made = planned(early(12))
    for stage, later in (("bud-swell", "new-leaves"), ("new-leaves", FIRST), (FIRST, "end-of-bloom")):
        assert all(a <= b for a, b in zip(row(made, stage=stage), row(made, stage=later), strict=True))


# Which trees.


def test_trees_hear_of_their_own_kind_only() -> None:
    before, after = planned([]), planned(early())
    own, alike = (row(before, tree)[1] - row(after, tree)[1] for tree in ("noted", "alike"))
    assert 0 < alike < own
    assert spring(after, "other") == spring(before, "other")
    of_other = planned(early(tree="other", rules=KOREAN))
    assert row(of_other, "other")[1] < row(before, "other")[1]
    for tree in ("noted", "alike"):
        assert spring(of_other, tree) == spring(before, tree)


def test_a_tree_not_to_learn_keeps_its_kinds_dates() -> None:
    """Its own notes and those of its neighbours change nothing of it; and its notes nothing of them."""
    trees = ({**TREES[0], "learn": False}, TREES[1])
    before = planned([], *trees)
    with_its_own = planned(early(), *trees)
    assert with_its_own.stages == before.stages
    neighbour = planned(early(tree="alike"), *trees)
    assert spring(neighbour, "noted") == spring(before, "noted")
    assert row(neighbour, "alike")[1] < row(before, "alike")[1]


def test_notes_not_to_be_learnt_from_move_nothing() -> None:
    assert planned(early(learn=False)).stages == planned([]).stages


# What may not matter.


MANY = [*early(), *early(2, "alike"), *early(-3, "other", KOREAN)]


@settings(max_examples=8)
@given(st.permutations(MANY))
def test_the_order_of_entries_changes_nothing(mixed: list[Entry]) -> None:
    assert everything(planned(mixed)) == everything(planned(MANY))


def more_notes(
    tree: str, says: Callable[[Plan], object] = everything, trees: tuple[Mapping[str, Any], ...] = TREES
) -> None:
    """A plan made upon another one's leavings says what the plan made from nothing says."""
    cache, told = PlanCache(), early(tree="alike")[:1]
    buds = notes({"date": f"{NEXT}-01-08", "saw": "bud-swell"}, tree=tree)
    more = [*told, *buds, *early(9, tree)[1:]]
    first = planned(told, *trees, cache=cache)
    again = planned(more, *trees, cache=cache)
    assert everything(again) != everything(first)
    assert says(again) == says(planned(more, *trees))
    # And back: what the later notes taught is forgotten with them.
    assert says(planned(told, *trees, cache=cache)) == says(first)


@pytest.mark.parametrize("tree", ["alike", "noted", "other"])
def test_a_plan_made_anew_after_some_more_notes_is_the_same(tree: str) -> None:
    """Trees are planned in the order of their names, and join the days of those before them."""
    more_notes(tree)


def test_a_tree_that_learns_nothing_still_goes_with_its_neighbours() -> None:
    more_notes("alike", trees=(*TREES, DEAF))


def test_the_cache_reads_every_note_once(monkeypatch: pytest.MonkeyPatch) -> None:
    read = lessons.read_notes
    counted: list[str] = []

    def counting(noted: lessons.Noted, *rest: Any) -> list[Note]:
        counted.append(noted[0])
        return read(noted, *rest)

    monkeypatch.setattr(lessons, "read_notes", counting)
    cache = PlanCache()
    planned(early(), cache=cache)
    planned([*early(), *early(2, "alike")], cache=cache)
    assert counted == ["noted", "alike"]


# The checks are seen to fail.


def test_a_cache_that_does_not_look_at_beliefs_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """A neighbour's note would not be heard of."""
    monkeypatch.setattr(planning, "_key", lambda profile: (profile.facts, profile.entries))
    monkeypatch.setattr(Board, "still_says", lambda self, asked: True)
    with pytest.raises(AssertionError):
        test_a_plan_made_anew_after_some_more_notes_is_the_same("alike")


def test_a_cache_that_does_not_look_at_other_trees_days_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Board, "still_says", lambda self, asked: True)
    with pytest.raises(AssertionError):
        test_a_tree_that_learns_nothing_still_goes_with_its_neighbours()


def test_a_plan_that_does_not_learn_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lessons.Lessons, "of", lambda self, tree, facts: NOTHING_LEARNT)
    for law in (test_trees_hear_of_their_own_kind_only, test_late_ones_make_it_late):
        with pytest.raises(AssertionError):
            law()
