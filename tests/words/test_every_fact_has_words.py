"""Every kind of reason has words, each in one place; a move survives being written and read back."""

import json
from dataclasses import fields, is_dataclass
from types import ModuleType

import pytest

from care_planner.tasks import links
from care_planner.tasks import notices as told
from care_planner.windows import reason as facts
from care_planner.windows.reason import Reason
from care_planner.words import chains, fates, moves, notices
from care_planner.words.moves import moved_words
from care_planner.years import common, move, reasons
from care_planner.years.move import CAUSES, AsRecorded, Move, StageSeen, move_data, move_of

KINDS = (facts, reasons, move, links, told, common)
WORDS = (fates, moves, chains, notices)


def kinds(module: ModuleType) -> set[type[Reason]]:
    """The kinds of reason that a file holds."""
    held = [one for one in vars(module).values() if isinstance(one, type) and issubclass(one, Reason)]
    return {one for one in held if one is not Reason and one.__module__ == module.__name__}


@pytest.mark.parametrize("module", KINDS, ids=lambda module: module.__name__)
def test_every_kind_has_words(module: ModuleType) -> None:
    found = kinds(module)
    assert found and all(is_dataclass(kind) for kind in found)
    worded = {kind for words in WORDS for kind in words._WORDS}
    assert found <= worded, [kind.__name__ for kind in found - worded]


def test_no_words_for_what_is_no_reason() -> None:
    every = {kind for module in KINDS for kind in kinds(module)}
    assert {kind for words in WORDS for kind in words._WORDS} <= every


@pytest.mark.parametrize("name", CAUSES)
def test_a_move_is_read_back(name: str) -> None:
    kind = CAUSES[name]
    values = {
        one.name: 7 if one.type in ("int", int, "float", float) else "bud-swell" for one in fields(kind)
    }  # type: ignore[arg-type]
    made = Move(739000, kind(**values))
    assert move_of(json.loads(json.dumps(move_data(made))), moved_words(made)) == made


def test_every_cause_can_be_written() -> None:
    assert {kind.__name__ for kind in kinds(move)} - {"AsRecorded"} == set(CAUSES)


def test_a_move_of_an_older_plan_keeps_its_words() -> None:
    old = "moved from 18 May: first flower seen 6 days later than expected"
    read = move_of(None, old)
    assert read == Move(None, AsRecorded(old)) and moved_words(read) == old
    assert move_data(read) is None and move_of(None, "") is None
    assert move_of({"from": 1, "cause": "of a later version"}, old) == read
    assert moved_words(Move(739389, StageSeen("first-flower", "first flower", 6))) == old
