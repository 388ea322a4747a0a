"""Why something is as it is, as a fact: ordinals, ids and values. English is made of it in `words`."""

from dataclasses import dataclass


class Reason:
    """Base of every reason. Each kind is a frozen dataclass of its own, with its words in `words`."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class FactDiffers(Reason):
    """A fact has another value than those the rule is for."""

    fact: str
    value: str
    wanted: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SignNotNoted(Reason):
    """None of the signs the rule is for was noted."""

    signs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FactNotTold(Reason):
    """Nobody told a fact that the rule asks for."""

    fact: str


@dataclass(frozen=True, slots=True)
class FactNotKnown(Reason):
    """A fact hangs on work of which no note tells."""

    fact: str


@dataclass(frozen=True, slots=True)
class FactsForbid(Reason):
    """All facts of a block are met: (fact, its value), and for signs those that were noted."""

    met: tuple[tuple[str, str | tuple[str, ...]], ...]
