"""Which facts nobody told, and how many works wait for each."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from care_planner.collection.tree import Tree
from care_planner.folder.lists.cells import cell_read

YES_NO = ("yes", "no")
AGE, LAST_REPOT, REPOT = "age", "last_repot", "repot"
# Facts that a person can answer about a tree: what is asked, and what may be answered (nothing: a date).
QUESTIONS: dict[str, tuple[str, tuple[str, ...]]] = {
    "age": ("Is it young or established", ("young", "established")),
    "condition": ("Is it strong or weak", ("strong", "weak")),
    "last_repot": ("Last repotted when (20.3.2025, March 2025 or 2025)", ()),
    "refined": ("Are its fine twigs there already", YES_NO),
    "wired": ("Is it wired", YES_NO),
    "multicoloured": ("Does the one plant flower in several colours", YES_NO),
}
# The same facts where they are only named.
NAMED = {
    "age": "young or established",
    "condition": "strong or weak",
    "last_repot": "when last repotted",
    "refined": "refined or not",
    "wired": "wired or not",
    "multicoloured": "one flower colour or several",
}


@dataclass(frozen=True, slots=True)
class ListQuestion:
    """One fact that was not told, of some trees, and how many works wait for it."""

    fact: str
    trees: tuple[str, ...]
    works: int


def questions(asked: Iterable[tuple[str, str]], trees: Iterable[Tree]) -> list[ListQuestion]:
    """From (tree, fact) of each work that waits for a fact: those that decide most works first. A rule that
    asks whether a repot is due waits for what the tree does not tell of it: the last one, or its age."""
    known = {tree.id: tree for tree in trees}
    works: dict[str, int] = {}
    of: dict[str, set[str]] = {}
    for tree, asked_as in asked:
        repotted = asked_as == REPOT and known[tree].last_repot is not None
        fact = AGE if repotted else LAST_REPOT if asked_as == REPOT else asked_as
        if fact in QUESTIONS:
            works[fact] = works.get(fact, 0) + 1
            of.setdefault(fact, set()).add(tree)
    order = sorted(works, key=lambda fact: (-works[fact], list(QUESTIONS).index(fact)))
    return [ListQuestion(fact, tuple(sorted(of[fact])), works[fact]) for fact in order]


def answered(fact: str, text: str, south: bool = False) -> tuple[Any, str]:
    """What an answer puts into the collection (None where it is none), and how it was read where it said
    less than that. In the `south` spring is in September."""
    key = f"{fact}.date" if fact == LAST_REPOT else fact
    value, told = cell_read(key, text.strip(), south)
    allowed = QUESTIONS[fact][1]
    if allowed:
        return (value, told) if value in allowed else (None, "")
    try:
        return {"date": date.fromisoformat(value).isoformat()}, told
    except ValueError:
        return None, ""
