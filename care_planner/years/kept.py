"""What was worked out for one tree and holds for the next: results by what their making asked.

Trees of one collection differ in little, and what differs reaches few of their stages and works. So while
something is worked out for a tree, a witness notes what is asked of its years and what the answer was.
Another tree that gives the same answers has the same result. Since the first question is always the same, and
each further one hangs on the answers before it, the results are the ends of a tree of questions.
"""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable
from typing import Any, Generic, NamedTuple, TypeVar

# So many results of one thing are kept; then it begins anew.
MOST_KEPT = 32

Subject = TypeVar("Subject")
# What to ask of a tree's years, and with what; the answer is something that two trees have in common or not.
Ask = Callable[..., Hashable]
Question = tuple[Ask, tuple[Any, ...]]


class Kept(Generic[Subject]):
    """Results by name, each found again by the answers to its questions. Results are never changed."""

    def __init__(self) -> None:
        self._first: dict[Hashable, _Fork | _End] = {}
        self._count: dict[Hashable, int] = {}
        self.asked: defaultdict[Ask, set[tuple[Any, ...]]] = defaultdict(set)  # all that was ever asked
        self.latest: dict[Hashable, Subject] = {}  # by kind: the one that results were last looked up for

    def find(self, name: Hashable, of: Subject) -> "_End | None":
        """The result whose questions are all answered as they were, or None."""
        place = self._first.get(name)
        while isinstance(place, _Fork):
            place = place.ways.get(place.ask(of, *place.about))
        return place

    def keep(self, name: Hashable, asked: Iterable[tuple[Question, Hashable]], made: object) -> None:
        """Keep a result under the questions asked, in their order, with the answers they had."""
        if self._count.get(name, 0) >= MOST_KEPT:
            del self._first[name]
            self._count[name] = 0
        self._count[name] = self._count.get(name, 0) + 1
        held, key = self._first, name
        for question, said in asked:
            self.asked[question[0]].add(question[1])
            fork = held.get(key)
            if not isinstance(fork, _Fork):
                fork = held[key] = _Fork(question)
            held, key = fork.ways, said
        held[key] = _End(made)


class Made(NamedTuple):
    """What was made of a tree's years, and on what it hangs."""

    result: Any
    taken: tuple[int, ...]  # the days that were taken in its making
    plain: frozenset[Question]  # what was asked whose answers are followed from tree to tree
    other: tuple[tuple[Question, Hashable], ...]  # what was asked besides, and the answers


class _Fork:
    """A question, and what comes after each answer."""

    __slots__ = ("about", "ask", "ways")

    def __init__(self, question: Question) -> None:
        self.ask, self.about = question
        self.ways: dict[Hashable, _Fork | _End] = {}


class _End:
    """A result; so that None can be one."""

    __slots__ = ("made",)

    def __init__(self, made: object) -> None:
        self.made = made
