"""Which facts nobody told, and how many works wait for each."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from care_planner.folder.lists.cells import cell_text

YES_NO = ("yes", "no")
LAST_REPOT = "last_repot"
# A rule that asks when a tree is due asks for its last repot.
ASKED_AS = {"repot": LAST_REPOT}
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
class ListQuestion:
    """One fact that was not told, of some trees, and how many works wait for it."""

    fact: str
    trees: tuple[str, ...]
    works: int


def questions(asked: Iterable[tuple[str, str]]) -> list[ListQuestion]:
    """From (tree, fact) of each work that waits for a fact: those that decide most works first."""
    works: dict[str, int] = {}
    trees: dict[str, set[str]] = {}
    for tree, asked_as in asked:
        fact = ASKED_AS.get(asked_as, asked_as)
        if fact in QUESTIONS:
            works[fact] = works.get(fact, 0) + 1
            trees.setdefault(fact, set()).add(tree)
    order = sorted(works, key=lambda fact: (-works[fact], list(QUESTIONS).index(fact)))
    return [ListQuestion(fact, tuple(sorted(trees[fact])), works[fact]) for fact in order]


def answered(fact: str, text: str) -> Any:
    """What an answer puts into the collection; None where it is none."""
    key = f"{fact}.date" if fact == LAST_REPOT else fact
    value = cell_text(key, text.strip())
    allowed = QUESTIONS[fact][1]
    if allowed:
        return value if value in allowed else None
    try:
        return {"date": date.fromisoformat(value).isoformat()}
    except ValueError:
        return None
