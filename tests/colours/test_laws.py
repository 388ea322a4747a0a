"""What must hold for any notes: order, independence of trees, direction."""

from datetime import date

import numpy as np
import pytest
from grown import Chance, branch, tree
from hypothesis import given, settings
from hypothesis import strategies as st

from care_planner.collection.tree import Tree
from care_planner.colours.belief import believe
from care_planner.colours.lineage import Bloom, lineage_of
from care_planner.colours.rates import known
from care_planner.journal.branch_notes import BranchNote
from care_planner.journal.model import Entry
from care_planner.rulebook.read_packs import read_rulebook

RULES = read_rulebook(None, {"satsuki-azalea"})[0].taxa["satsuki-azalea"]
RATES = known(0.06, 0.004)


def note(day: str, **said: object) -> Entry:
    return Entry(date.fromisoformat(day), "t", branch=BranchNote(**said))  # type: ignore[arg-type]


NOTES = [
    note("2024-05-20", branch="a", grows_from="trunk", since=2023),
    note("2024-05-20", branch="b", grows_from="a", since=2025),
    note("2025-05-20", branch="a", flowers=(("striped", 3), ("white ground", 8))),
    note("2025-05-27", branch="a", flowers=(("striped", 5), ("white ground", 6))),
    note("2025-05-28", branch="b", flowers=(("solid", 4),)),
    note("2025-07-01", branch="a", batch="c1", taken=6),
    note("2025-09-01", batch="c1", young="rooted", count=5),
    note("2026-05-28", batch="c1", plant=2, flowers=(("solid", 1),)),
    note("2026-06-10", branch="b", lost="cut"),
]


@given(st.permutations(NOTES))
@settings(max_examples=30)
def test_the_order_of_notes_changes_nothing(mixed: list[Entry]) -> None:
    forms = RULES.forms
    assert forms is not None
    plant = Tree.model_validate({"id": "t", "taxon": "satsuki-azalea", "bench": "open"})
    lineage, problems = lineage_of(plant, mixed, forms, south=False)
    assert problems == []
    assert lineage.branches["a"].blooms == {2025: Bloom((8, 0, 5, 0, 0, 0, 0))}  # seen twice, counted once
    assert lineage.branches["b"].lost == 2026
    batch = lineage.batches["c1"]
    assert (batch.branch, batch.taken, batch.count, batch.rooted, sorted(batch.blooms)) == (
        "a",
        2025,
        6,
        5,
        [2],
    )


def grown(seed: int) -> list:
    chance = Chance(seed, 0.06, 0.004, 4)
    return [chance.tree(f"t{i}", 5, 2022, 2026)[0] for i in range(3)]


@given(st.integers(0, 500))
@settings(max_examples=15, deadline=None)
def test_a_note_on_one_tree_changes_no_other_at_known_rates(seed: int) -> None:
    trees = grown(seed)
    other = tree("t0", branch("trunk", 2022, {2026: (9, 0, 0, 0)}))
    with_it, _ = believe(trees, 4, 2026, RATES)
    without, _ = believe([other, *trees[1:]], 4, 2026, RATES)
    for a, b in zip(with_it[1:], without[1:], strict=True):
        for owner in a.wood:
            assert a.lightest(owner) == pytest.approx(b.lightest(owner), abs=1e-12)


@given(st.permutations(range(3)), st.integers(0, 50))
@settings(max_examples=10, deadline=None)
def test_the_order_of_trees_changes_not_a_bit(order: list[int], seed: int) -> None:
    trees = grown(seed)
    one, rates_one = believe(trees, 4, 2026)
    two, rates_two = believe([trees[i] for i in order], 4, 2026)
    assert np.array_equal(rates_one.weight, rates_two.weight)
    for a, b in zip(one, two, strict=True):
        assert a.lineage is b.lineage
        assert all(np.array_equal(a.wood[owner], b.wood[owner]) for owner in a.wood)


@given(st.integers(0, 500), st.data())
@settings(max_examples=20, deadline=None)
def test_more_flowers_of_a_form_seen_never_raise_another_on_that_branch_that_season(
    seed: int, data: st.DataObject
) -> None:
    """With all the other notes of the tree there, and whatever they say."""
    (lineage, *_) = grown(seed)
    id = data.draw(st.sampled_from([b for b in lineage.branches if b != "trunk"]))
    old = lineage.branches[id]
    counts = old.blooms[2026].counts
    form = data.draw(st.sampled_from([i for i, count in enumerate(counts) if count]))
    more = tuple(count + 3 * (i == form) for i, count in enumerate(counts))
    new = branch(id, old.since or 0, on=old.grows_from)
    seasons = {**{s: b.counts for s, b in old.blooms.items()}, 2026: more}
    new = branch(id, old.since or 0, seasons, on=old.grows_from)
    changed = tree("t0", *(new if b.id == id else b for b in lineage.branches.values()))
    ((before,), _), ((after,), _) = (believe([one], 4, 2026, RATES) for one in (lineage, changed))
    others = [i for i in range(4) if i != form]
    assert all(after.gives((id, 0))[i] <= before.gives((id, 0))[i] + 1e-9 for i in others)


def test_common_practice_colour_moves_one_way() -> None:
    """Light wood may give every form, dark wood hardly goes back; left alone all wood darkens."""
    light = tree("t", branch("trunk", 2026, {2026: (12, 0, 0)}), branch("a", 2027))
    dark = tree("t", branch("trunk", 2026, {2026: (0, 0, 12)}), branch("a", 2027))
    ((from_light,), _), ((from_dark,), _) = (believe([one], 3, 2027, RATES) for one in (light, dark))
    assert from_light.gives(("a", 0))[0] > 0.9
    assert from_dark.gives(("a", 0))[0] < 0.02
    ((later,), _) = believe([light], 3, 2040, RATES)
    assert later.gives(("trunk", 0))[0] < from_light.gives(("trunk", 0))[0]


def test_a_branch_that_showed_a_form_could_give_it_then() -> None:
    seen = tree("t", branch("trunk", 2026, {2026: (1, 0, 40)}))
    ((belief,), _) = believe([seen], 3, 2026, RATES)
    assert belief.gives(("trunk", 0))[0] == pytest.approx(1.0)
