"""What must hold for whatever notes teach: order, direction, how much, and what a wrong note may do."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from noted_seasons import (
    FIRST,
    NEXT,
    PLAIN_PACE,
    day_at,
    in_days,
    learnt,
    mean_of,
    note,
    seen,
    spread_of,
)

from care_planner.learning import conditioning, learn
from care_planner.learning.learn import Learnt
from care_planner.learning.notes import Note
from care_planner.learning.pace_belief import MEAN_STEP, SPREAD_STEP

SEASONS = range(NEXT - 6, NEXT)
# A tree as fast as this one flowers four days before its taxon.
FAST = -0.06
# Paces that go together: no two so far apart that one of them is odd.
good = st.floats(-0.05, 0.05)
cells = st.tuples(st.sampled_from(["bud-swell", FIRST]), st.sampled_from([*SEASONS]))


def of(*notes: Note) -> Learnt:
    return learnt(*notes, pace=PLAIN_PACE)


@st.composite
def good_notes(draw: st.DrawFn, trees: str = "a", least: int = 1) -> list[Note]:
    """Notes of one or some trees, each of one stage in one season."""
    keys = st.tuples(st.sampled_from(trees), cells)
    at = draw(st.lists(keys, min_size=least, max_size=8, unique=True))
    return [note(stage, season, draw(good), tree) for tree, (stage, season) in at]


# Narrower, and where to.


@given(good_notes())
def test_a_note_that_agrees_narrows_and_hardly_moves(notes: list[Note]) -> None:
    before = of(*notes)
    after = of(*notes, note(FIRST, NEXT, mean_of(before, "a")))
    assert spread_of(after, "a") < spread_of(before, "a") - SPREAD_STEP
    assert abs(mean_of(after, "a") - mean_of(before, "a")) <= 1.01 * MEAN_STEP


def test_one_note_is_heard_once() -> None:
    """By hand: all but what is of one note alone stands against the note's own variance besides. A tree does
    not hear of itself as of a neighbour."""
    found, whole = of(replace(note(FIRST, NEXT, 0.2), variance=0.012)), PLAIN_PACE.spread**2
    shared, noted = whole * (1 - PLAIN_PACE.alone), whole + 0.012
    assert mean_of(found, "a") == pytest.approx(0.2 * shared / noted, abs=0.51 * MEAN_STEP)
    left = (whole - shared**2 / noted) ** 0.5
    assert spread_of(found, "a") == pytest.approx(left, abs=0.51 * SPREAD_STEP)
    assert mean_of(found, "z") == pytest.approx(0.2 * PLAIN_PACE.site * shared / noted, abs=0.51 * MEAN_STEP)


@given(good_notes("abcd", least=2))
def test_more_good_notes_never_widen(notes: list[Note]) -> None:
    """For the trees with notes and for one without."""
    for tree in "abz":
        spreads = [spread_of(of(*notes[:count]), tree) for count in range(1, len(notes) + 1)]
        assert spreads == sorted(spreads, reverse=True)
        assert spreads[0] <= PLAIN_PACE.spread


@given(good_notes("abc", least=3), st.data())
def test_the_order_of_notes_changes_nothing(notes: list[Note], data: st.DataObject) -> None:
    """With a wrong note and a "not yet" among them."""
    notes = [*notes, note(FIRST, NEXT - 7, 0.6, "a"), note(FIRST, NEXT, 0.02, "b", is_bound=True)]
    one, other = of(*notes), of(*data.draw(st.permutations(notes)))
    assert (one.of_trees, one.of_others, one.odd) == (other.of_trees, other.of_others, other.odd)


@given(st.integers(1, 5), st.floats(0.06, 0.12))
def test_recent_seasons_weigh_more_than_old(years: int, pace: float) -> None:
    old, recent = note(FIRST, NEXT - 1 - years, pace), note(FIRST, NEXT - 1, pace)
    assert 0 < mean_of(of(old), "a") <= mean_of(of(recent), "a")
    # Rounding hides what two neighbouring seasons differ by; two that contradict do not hide it.
    both = of(note(FIRST, NEXT - 1 - years, -pace), recent)
    assert mean_of(both, "a") > 0


@given(st.floats(0.04, 0.15), st.sampled_from([-1, 1]))
def test_a_stage_moves_the_later_one_of_its_season_the_same_way(size: float, sign: int) -> None:
    found = of(note("bud-swell", NEXT, sign * size))
    own, later = (sign * mean_of(found, "a", stage) for stage in ("bud-swell", FIRST))
    assert 0 < later <= own
    # By what the stages keep in step, in_step twice, of what the note moves its own.
    assert later == pytest.approx(PLAIN_PACE.in_step**2 * own, abs=MEAN_STEP)
    assert spread_of(found, "a", "bud-swell") < spread_of(found, "a") < PLAIN_PACE.spread


# "Not yet".


@given(good_notes(), st.floats(-0.3, 0.3), st.sampled_from(["bud-swell", FIRST]))
def test_not_yet_never_moves_earlier(notes: list[Note], bound: float, stage: str) -> None:
    before, after = of(*notes), of(*notes, note(stage, NEXT, bound, is_bound=True))
    assert mean_of(after, "a") >= mean_of(before, "a")
    assert spread_of(after, "a") <= spread_of(before, "a")


@given(good_notes(), st.floats(-2.0, 1.0))
def test_not_yet_narrows_less_than_a_date(notes: list[Note], at: float) -> None:
    before = of(*notes)
    bound = mean_of(before, "a") + at * spread_of(before, "a")
    told = [of(*notes, note(FIRST, NEXT, bound, is_bound=bounds)) for bounds in (True, False)]
    assert spread_of(told[0], "a") > spread_of(told[1], "a")


def test_not_yet_where_nobody_expected_it_yet_says_nothing() -> None:
    notes = [note(FIRST, season, 0.0) for season in SEASONS]
    assert of(*notes).of_trees == of(*notes, note(FIRST, NEXT, -0.8, is_bound=True)).of_trees


# Other trees.


@given(st.lists(good, min_size=1, max_size=4), st.floats(0.1, 0.2), st.sampled_from([-1, 1]))
def test_a_tree_without_notes_is_moved_less_than_the_noted_one(
    paces: list[float], size: float, sign: int
) -> None:
    notes = [note(FIRST, NEXT - 1 - i, sign * (size + pace)) for i, pace in enumerate(paces)]
    found = of(*notes)
    own, other = sign * mean_of(found, "a"), sign * mean_of(found, "z")
    assert 0 < other < own
    assert spread_of(found, "a") < spread_of(found, "z") <= PLAIN_PACE.spread


# A wrong note: a month off, on smooth weather, so that a day is a day.


def flowered(tree: str, wrong: dict[int, int], pace: float = FAST, seasons: range = SEASONS) -> list[Note]:
    """First flowers of a tree in all seasons, some of them noted so many days off."""
    days = {(FIRST, s): day_at(pace, FIRST, s) + wrong.get(s, 0) for s in seasons}
    return seen(tree, days)


@pytest.mark.parametrize("off", [-30, 30])
@pytest.mark.parametrize("season", SEASONS)
def test_a_month_off_is_named_and_hardly_moves_a_tree(season: int, off: int) -> None:
    right = [one for one in flowered("a", {}) if one.season != season]
    found = learnt(*flowered("a", {season: off}))
    assert [(odd.note.season, abs(odd.days - off) < 3) for odd in found.odd] == [(season, True)]
    assert abs(in_days(found, "a") - in_days(learnt(*right), "a")) < 3
    assert in_days(found, "a") < 0
    assert learnt(*right).odd == ()


@pytest.mark.parametrize("off", [-30, 30])
@pytest.mark.parametrize("seasons", [range(NEXT - 1, NEXT), range(NEXT - 3, NEXT)], ids=["one", "three"])
@pytest.mark.parametrize("sixth", [{}, {NEXT - 2: 2}], ids=["without-notes", "with-notes"])
def test_a_month_off_on_one_tree_hardly_moves_its_neighbours(
    sixth: dict[int, int], seasons: range, off: int
) -> None:
    """Five good trees, each a little different; one more that is a month off; and the one asked."""
    own = flowered("sixth", sixth, seasons=range(NEXT - 2, NEXT)) if sixth else []
    paces = enumerate((-0.07, -0.04, -0.06, -0.08, -0.05))
    good = [one for i, pace in paces for one in flowered(f"good-{i}", {}, pace, seasons)]
    bad = flowered("wrong", dict.fromkeys(seasons, off), seasons=seasons)
    right, found = learnt(*own, *good), learnt(*own, *good, *bad)
    assert in_days(right, "sixth") < 0
    assert abs(in_days(found, "sixth") - in_days(right, "sixth")) < 1


# The checks are seen to fail.


def test_planted_faults_are_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as planted:
        planted.setattr(conditioning, "ODD_AT", 1000.0)
        with pytest.raises(AssertionError):
            test_a_month_off_is_named_and_hardly_moves_a_tree(NEXT - 1, 30)
    with monkeypatch.context() as planted:
        planted.setattr(np, "median", np.mean)
        with pytest.raises(AssertionError):
            test_a_month_off_on_one_tree_hardly_moves_its_neighbours({}, range(NEXT - 3, NEXT), 30)
    with monkeypatch.context() as planted:
        planted.setattr(learn, "_others", lambda cells, tree, pace: learn._own((), pace))
        with pytest.raises(AssertionError):
            test_a_tree_without_notes_is_moved_less_than_the_noted_one.hypothesis.inner_test(  # type: ignore[attr-defined]
                [0.0], 0.1, 1
            )


def test_a_wrong_not_yet_is_held_back_and_named() -> None:
    """The law for a gross error in a date holds for a bound too."""
    plain = [note(FIRST, season, 0.0) for season in range(NEXT - 5, NEXT - 1)]
    wrong = note(FIRST, NEXT - 1, 0.014 * 30, is_bound=True)
    before, after = of(*plain), of(*plain, wrong)
    assert 0 <= (mean_of(after, "a") - mean_of(before, "a")) / 0.014 < 3
    assert [odd.note for odd in after.odd] == [wrong]
    assert after.odd[0].days == pytest.approx(30, abs=3)
    # One that could well be so is heard, and not named.
    fair = of(*plain, note(FIRST, NEXT - 1, 0.014 * 5, is_bound=True))
    assert mean_of(fair, "a") > mean_of(before, "a") and not fair.odd


def test_a_not_yet_of_its_own_stage_and_season_is_left_to_the_members() -> None:
    """They are cut off at it where the stage is dated; in the belief it would count a second time."""
    plain = [note(FIRST, season, 0.0) for season in range(NEXT - 3, NEXT)]
    bound = note(FIRST, NEXT, 0.014 * 4, is_bound=True)
    before, after = of(*plain), of(*plain, bound)
    assert (mean_of(after, "a"), spread_of(after, "a")) == (mean_of(before, "a"), spread_of(before, "a"))
    assert mean_of(after, "a", "bud-swell") > mean_of(before, "a", "bud-swell")
