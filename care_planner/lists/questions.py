"""Which facts nobody told, and how many works wait for each."""

from collections.abc import Iterable
from dataclasses import dataclass

YES_NO = ("yes", "no")
# Facts that a person can answer about a tree: what is asked, and what may be answered (nothing: a date).
QUESTIONS: dict[str, tuple[str, tuple[str, ...]]] = {
    "age": ("Young or established", ("young", "established")),
    "condition": ("Strong or weak", ("strong", "weak")),
    "last_repot": ("Last repotted on (2025-03-20)", ()),
    "refined": ("Refined: are fine twigs there", YES_NO),
    "wired": ("Is it wired", YES_NO),
    "multicoloured": ("Flowers of several colours on one plant", YES_NO),
}


@dataclass(frozen=True, slots=True)
class Question:
    """One fact that was not told, of some trees, and how many works wait for it."""

    fact: str
    trees: tuple[str, ...]
    works: int


def questions(asked: Iterable[tuple[str, str]]) -> list[Question]:
    """From (tree, fact) of each work that waits for a fact: those that decide most works first."""
    works: dict[str, int] = {}
    trees: dict[str, set[str]] = {}
    for tree, fact in asked:
        if fact in QUESTIONS:
            works[fact] = works.get(fact, 0) + 1
            trees.setdefault(fact, set()).add(tree)
    order = sorted(works, key=lambda fact: (-works[fact], list(QUESTIONS).index(fact)))
    return [Question(fact, tuple(sorted(trees[fact])), works[fact]) for fact in order]
