"""Before a note's pace is read: work, shares open, memory, benches, and what is not to be learnt."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from even_weather import EVEN, RULES, SEASON, SINCE, TREE, WITH_MOVES, even_past, even_record, flower, read
from noted_seasons import FIRST, OPEN
from small_world import collection, day, notes

from care_planner.climate.record import WeatherRecord
from care_planner.learning import notes as reading_notes
from care_planner.learning.notes import REMEMBERED_DAYS, SHARE_DAYS, Note, TreeNotes, notes_of
from care_planner.learning.past import PastSeason
from care_planner.rulebook.pack import Rulebook
from care_planner.stages.history import History
from care_planner.years.basis import Basis
from care_planner.years.profiles import noted_trees

# Work, shares, memory.


@pytest.mark.parametrize(("work", "back"), [("02-10", 6), ("03-20", 0)])
def test_what_root_work_set_back_is_no_pace(work: str, back: int) -> None:
    """Work of after the flower changed nothing of it."""
    done = {"works": {("repot", SEASON): (day(f"{SEASON}-{work}"),)}}
    (note,) = read({**flower(46), **done})
    (plain,) = read(flower(46 - back))
    assert (note.log_pace, note.late_days, note.per_day) == (plain.log_pace, plain.late_days, plain.per_day)


def pace_at(stage: str, told: History) -> float:
    """The pace that the note of a stage speaks of."""
    (found,) = (n for n in notes_of(TreeNotes("a", told, OPEN), EVEN, even_past()) if n.stage == stage)
    return found.log_pace


def test_what_root_work_set_back_is_no_pace_of_what_hangs_on_the_flower() -> None:
    """The bloom's end and its half come later by the very same days."""
    done = {("repot", SEASON): (SINCE + 9,)}
    for stage, after in (("half-open", 9), ("end-of-bloom", 34)):
        plain = History(stages={(stage, SEASON): SINCE + 39 + after})
        worked = History(stages={(stage, SEASON): SINCE + 39 + after + 6}, works=done)
        found = [pace_at(stage, told) for told in (plain, worked)]
        assert found[0] == found[1], stage


def test_a_share_open_is_reckoned_back_through_the_curve() -> None:
    """Half open takes 100 at 10 a day: the tenth day, the first among them, so nine days after it."""
    seen = SINCE + 39 + 9
    (note,) = read({"opened": {SEASON: ((seen, 0.5),)}})
    (plain,) = read(flower(40))
    assert (note.day, note.log_pace) == (seen, plain.log_pace)
    assert note.variance == pytest.approx(SHARE_DAYS**2 * plain.variance)


def test_a_remembered_bloom_is_a_note_with_a_wide_error() -> None:
    (note,) = read(remembered={SEASON: SINCE + 39 + 9})
    (plain,) = read(flower(40))
    assert note.log_pace == plain.log_pace
    assert note.variance == pytest.approx(REMEMBERED_DAYS**2 * plain.variance)
    assert REMEMBERED_DAYS > 2 * SHARE_DAYS > 4
    # A noted flower is the better one: memory is not heard beside it.
    assert read(flower(40), remembered={SEASON: SINCE + 60}) == [plain]


# What the grower says of learning, benches, and the kind of weather: through the journal.


def taught(
    *written: dict[str, Any], rules: Rulebook = RULES, record: WeatherRecord | None = None, **tree: Any
) -> list[Note]:
    """What all notes of one tree teach, as a plan reads them."""
    benches = {"open": {}, "shed": {"floor_c": 15}}
    trees = collection({**TREE, **tree}, benches=benches)
    basis = Basis(trees, record or even_record(), rules, day("2012-01-10"))
    found = basis.learn(noted_trees(trees, notes(*written), basis.shared))
    return [note for one in found.by_taxon.values() for told in one.notes.values() for note in told]


NOTE = {"date": str(np.datetime64(f"{SEASON}-02-01") + 39), "saw": FIRST}


def test_a_note_or_a_tree_not_to_be_learnt_from_teaches_nothing() -> None:
    assert len(taught(NOTE)) == 1
    assert taught({**NOTE, "learn": False}) == []
    other = {**NOTE, "date": f"{SEASON + 1}-03-11"}
    assert len(taught(NOTE, other)) == 2
    assert taught(NOTE, {**other, "learn": False}) == taught(NOTE)
    assert taught(NOTE, learn=False) == []
    assert taught(learn=False, remembered_bloom={SEASON: NOTE["date"]}) == []
    assert len(taught(remembered_bloom={SEASON: NOTE["date"]})) == 1


def test_monthly_weather_teaches_nothing() -> None:
    assert taught(NOTE, record=replace(even_record(), kind="monthly")) == []


def test_a_tree_in_a_warm_shelter_is_read_with_the_shelters_weather() -> None:
    """Ten days at 15 degC give half its need, then 5 a day outside: a tree of its taxon's pace flowers after
    30 days. Read as if it had stood outside it would need a quarter less."""
    seen = {"date": str(np.datetime64(f"{SEASON}-02-01") + 29), "saw": FIRST}
    moved = [
        {"date": f"{SEASON - 1}-12-01", "moved_to": "shed"},
        {"date": f"{SEASON}-02-11", "moved_to": "open"},
    ]
    by_notes, by_rules = taught(seen, *moved), taught(seen, rules=WITH_MOVES, winter_bench="shed")
    assert [note.log_pace for note in by_notes] == [note.log_pace for note in by_rules]
    assert by_notes[0].log_pace == pytest.approx(0.0, abs=0.03)
    assert taught(seen)[0].log_pace == pytest.approx(np.log(0.75), abs=0.03)


# The checks are seen to fail.


def test_planted_faults_are_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(PastSeason, "_set_back", lambda self, id, step: iter(()))
    with pytest.raises(AssertionError):
        test_what_root_work_set_back_is_no_pace("02-10", 6)
    monkeypatch.setattr(reading_notes, "_moves_in", lambda *args: ())
    with pytest.raises(AssertionError):
        test_a_tree_in_a_warm_shelter_is_read_with_the_shelters_weather()
