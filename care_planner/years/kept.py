"""What was worked out for one tree and holds for the next: results by what their making asked.

Trees of one collection differ in little, and what differs reaches few of their stages and works. So while
something is worked out for a tree, a witness notes what is asked of its years and what the answer was.
Another tree that gives the same answers has the same result. Since the first question is always the same, and
each further one hangs on the answers before it, the results are the ends of a tree of questions.
"""

from collections.abc import Callable, Hashable, Iterable
from typing import Generic, TypeVar

# So many results of one thing are kept; then it begins anew.
MOST_KEPT = 32

Made = TypeVar("Made")
Asked = TypeVar("Asked", bound=Hashable)
Answers = Callable[[Asked], Hashable]


class Kept(Generic[Asked]):
    """Results by name, each found again by the answers to its questions. Results are never changed."""

    def __init__(self) -> None:
        self._first: dict[Hashable, _Fork[Asked] | _End] = {}
        self._count: dict[Hashable, int] = {}

    def find(self, name: Hashable, answer: Answers[Asked]) -> "_End | None":
        """The result whose questions are all answered as they were, or None."""
        place = self._first.get(name)
        while isinstance(place, _Fork):
            place = place.ways.get(answer(place.asks))
        return place

    def keep(self, name: Hashable, asked: Iterable[tuple[Asked, Hashable]], made: object) -> None:
        """Keep a result under the questions asked, in their order, with the answers they had."""
        if self._count.get(name, 0) >= MOST_KEPT:
            del self._first[name]
            self._count[name] = 0
        self._count[name] = self._count.get(name, 0) + 1
        held, key = self._first, name
        for question, said in asked:
            fork = held.get(key)
            if not isinstance(fork, _Fork):
                fork = held[key] = _Fork(question)
            held, key = fork.ways, said
        held[key] = _End(made)


class _Fork(Generic[Asked]):
    """A question, and what comes after each answer."""

    __slots__ = ("asks", "ways")

    def __init__(self, asks: Asked) -> None:
        self.asks = asks
        self.ways: dict[Hashable, _Fork[Asked] | _End] = {}


class _End:
    """A result; so that None can be one."""

    __slots__ = ("made",)

    def __init__(self, made: object) -> None:
        self.made = made
