"""Free words from a phone: what the plan uses is understood, all else stays words."""

from datetime import date
from functools import cache

import pytest

from care_planner.collection.model import Collection
from care_planner.folder.read_folder import Inputs
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.serve.note_form import parse_note
from care_planner.serve.note_parts import NoteForm, Wrong

TODAY = date(2027, 11, 1)


@cache
def inputs() -> Inputs:
    rulebook, problems = read_rulebook(taxa=["satsuki-azalea"])
    assert problems == []
    collection = Collection.model_validate(
        {
            "site": {"latitude": "50", "longitude": "4", "timezone": "UTC", "weather": "a.csv"},
            "benches": {"open": {}, "shed": {"floor_c": "2"}},
            "trees": [{"id": "sats-01", "taxon": "satsuki-azalea", "bench": "open"}],
        }
    )
    return Inputs(collection, [], None, rulebook, [])  # type: ignore[arg-type]


def sent(words: str) -> NoteForm | Wrong:
    fields = {"act": ["words"], "tree": ["sats-01"], "words": [words]}
    return parse_note(fields, inputs(), {"sats-01"}, {}, TODAY, "n-00000000")


@pytest.mark.parametrize(
    "words", ["many fat buds", "fat buds: none", "dead-headed", "moved to shed", "weak", "watered"]
)
def test_words_that_the_plan_uses_are_understood(words: str) -> None:
    form = sent(words)
    assert isinstance(form, NoteForm)
    assert [part.what for part in form.parts] == [words]


@pytest.mark.parametrize(
    "words", ["leaves a little yellow", "take-back n-2abcdefg", "should be repotted soon"]
)
def test_all_else_stays_words(words: str) -> None:
    form = sent(words)
    assert isinstance(form, NoteForm)
    assert [part.what for part in form.parts] == [f"note {words}"]
