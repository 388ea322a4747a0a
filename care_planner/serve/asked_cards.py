"""Work of which no note tells, as questions to answer."""

from collections.abc import Collection as Some
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from zlib import crc32

from care_planner.calendar.text import one_line
from care_planner.serve.cards import Noted, TreeBox
from care_planner.tasks.questions import Question
from care_planner.words.asking import NOTHING_IN_PART, PartDone, missed_words, rest_words
from care_planner.words.days import short_day


@dataclass(frozen=True, slots=True)
class AskedRow:
    """Work of which no note tells: the question, and the trees that wait for an answer."""

    id: str
    rule: str
    title: str
    words: str
    trees: tuple[TreeBox, ...]


def asked_cards(
    questions: Iterable[Question],
    trees: Some[str],
    names: Mapping[str, str],
    today: int,
    noted: Noted,
    part_done: PartDone = NOTHING_IN_PART,
) -> list[AskedRow]:
    """What waits for an answer on `trees`, without those answered a moment ago."""
    found = []
    for asked in questions:
        left = [tree for tree in asked.trees if tree in trees and (tree, asked.rule) not in noted]
        if left and asked.since <= today:
            boxes = tuple(TreeBox(tree, names.get(tree, "")) for tree in left)
            id = f"q-{crc32(asked.key.encode()):08x}"
            found.append(
                AskedRow(id, asked.rule, one_line(asked.title), _question(asked, left, part_done), boxes)
            )
    return found


def _question(asked: Question, trees: Some[str], part_done: PartDone) -> str:
    missed = missed_words("If not done", asked, trees)
    rest = "".join(f" {words}" for words in rest_words(asked, trees, part_done))
    return one_line(f"Its time was over on {short_day(asked.since - 1)}. {asked.asks}{rest}{missed}")
