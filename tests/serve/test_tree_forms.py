"""What a tree's page can say, form by form: the words noted, the sentence told, and what is refused."""

from datetime import date
from functools import cache

import pytest

from care_planner.collection.model import Collection
from care_planner.folder.read_folder import Inputs
from care_planner.journal.model import JournalFile
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.serve.entry_words import entry_words
from care_planner.serve.note_form import parse_note
from care_planner.serve.note_parts import NoteForm, Wrong
from care_planner.serve.scope import Scope
from care_planner.serve.scope_notes import within_scope

SATURDAY = date(2027, 5, 29)
TREES = {"azalea", "tray", "maple"}


@cache
def inputs() -> Inputs:
    rulebook, problems = read_rulebook(taxa=["satsuki-azalea", "japanese-maple"])
    assert problems == []
    collection = Collection.model_validate(
        {
            "site": {"latitude": "50", "longitude": "4", "timezone": "UTC", "weather": "a.csv"},
            "benches": {"open": {}},
            "trees": [
                {"id": "azalea", "taxon": "satsuki-azalea", "bench": "open"},
                {"id": "tray", "taxon": "satsuki-azalea", "bench": "open", "count": "40"},
                {"id": "maple", "taxon": "japanese-maple", "bench": "open"},
            ],
        }
    )
    return Inputs(collection, [], None, rulebook, [])  # type: ignore[arg-type]


def sent(tree: str = "azalea", **fields: str) -> NoteForm | Wrong:
    form = {"tree": [tree], **{name.replace("_", "-"): [value] for name, value in fields.items()}}
    return parse_note(form, inputs(), TREES, {}, SATURDAY, "n-00000000")


@pytest.mark.parametrize(
    ("fields", "noted", "told"),
    [
        (
            {"act": "put-off", "rule": "prune-after-bloom"},
            "put-off prune-after-bloom until 2027-05-31",
            "azalea: Prune after bloom, put off until Mon 31 May, noted on Sat 29 May",
        ),
        (
            {"act": "days-off weekend"},
            "not this weekend",
            "The whole garden: no work from Sat 29 May to Sun 30 May, noted on Sat 29 May",
        ),
        (
            {"act": "days-off today", "tapped": "2027-05-28"},
            "not today",
            "The whole garden: no work on Fri 28 May, noted on Fri 28 May",
        ),
        (
            {"act": "sign buds-few"},
            "buds-few",
            "azalea: Fat flower buds: few, seen, Sat 29 May",
        ),
        ({"act": "left given-away"}, "given away", "azalea: given away, Sat 29 May"),
        (
            {"tree": "tray", "act": "did", "rule": "summer-feed", "plants": "12"},
            "did summer-feed on 12",
            "tray: Summer feed, done on 12 of 40 so far, Sat 29 May",
        ),
        (
            {"tree": "tray", "act": "did", "rule": "summer-feed", "plants": "40"},
            "did summer-feed",
            "tray: Summer feed, done, Sat 29 May",
        ),
        (
            {"act": "cuttings", "branch": "top", "batch": "b-1", "plants": "9"},
            "cuttings b-1 9",
            "azalea/top: 9 cuttings of top taken, batch b-1, Sat 29 May",
        ),
        (
            {"act": "batch", "batch": "b-1", "plants": "0", "young": "rooted"},
            "rooted 0",
            "azalea/b-1: batch b-1: 0 rooted, Sat 29 May",
        ),
    ],
)
def test_each_form_says_one_thing(fields: dict[str, str], noted: str, told: str) -> None:
    form = sent(**fields)
    assert isinstance(form, NoteForm), form
    assert [part.what for part in form.parts] == [noted]
    assert form.sentences == (told,)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"act": "put-off", "rule": ""}, "No work was chosen"),
        ({"act": "sign buds-many", "tree": "maple"}, "Press one of the buttons"),
        ({"act": "left stolen"}, "Press one of the buttons"),
        ({"act": "days-off for-ever"}, "Press one of the buttons"),
        ({"act": "did", "rule": "summer-feed", "plants": "41", "tree": "tray"}, "a number from 1 to 40"),
        ({"act": "did", "rule": "summer-feed", "plants": "-1", "tree": "tray"}, "a number from 1 to 40"),
        ({"act": "batch", "batch": "../b", "plants": "1", "young": "rooted"}, "batch's label"),
        ({"act": "batch", "batch": "b", "plants": "1", "young": "eaten"}, "what became of them"),
        ({"act": "cuttings", "branch": "top", "batch": "b", "plants": "many"}, "must be a number"),
    ],
)
def test_what_cannot_be_is_refused_in_words(fields: dict[str, str], words: str) -> None:
    form = sent(**fields)
    assert isinstance(form, Wrong) and words in form.words


@pytest.mark.parametrize("act", ["left dead", "condition weak", "days-off weekend"])
def test_a_link_for_looks_notes_no_more_than_what_was_seen(act: str) -> None:
    form = within_scope(sent(act=act), Scope("work", "look"), inputs())
    assert isinstance(form, Wrong)
    assert isinstance(within_scope(sent(act="sign buds-few"), Scope("work", "look"), inputs()), NoteForm)


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ({"saw": "buds-few"}, "Saw: Fat flower buds: few"),
        ({"put_off": "summer-feed", "until": "2027-05-31"}, "Put off until Mon 31 May: Summer feed"),
        ({"did": "summer-feed", "count": "12"}, "Done: Summer feed, on 12 so far"),
        ({"left": "given-away"}, "Given away"),
        (
            {"branch": "top", "flowers": {"striped": "3", "white-ground": "12"}},
            "top: white ground 12, striped 3",
        ),
        ({"branch": "top", "grows": {"from": "trunk"}}, "New branch top, from trunk"),
        ({"batch": "b-1", "young": "rooted", "count": "9"}, "Batch b-1: 9 rooted"),
        ({"photo": "photos/a.jpg"}, "Whole tree: a photograph"),
        ({"days_off": {"from": "2027-05-29", "to": "2027-05-29"}}, "No work on Sat 29 May"),
    ],
)
def test_what_was_noted_is_read_back_in_words(entry: dict[str, object], words: str) -> None:
    (written,) = JournalFile.model_validate([{"date": "2027-05-29", "tree": "azalea", **entry}]).root
    (one,) = written.entries("", 0)
    assert entry_words(one, inputs().rulebook.taxa["satsuki-azalea"]) == words


def test_no_time_on_a_link_for_some_trees_is_of_those() -> None:
    form = parse_note({"act": ["days-off weekend"]}, inputs(), {"azalea", "tray"}, {}, SATURDAY, "n-00000000")
    assert isinstance(form, NoteForm) and form.parts[0].trees == ("azalea", "tray")
    assert form.sentences[0].startswith("azalea and tray: no work from Sat 29 May")
