"""What is wrong in what a person wrote, as a value with its place.

Reading never stops at the first mistake: every reader returns what it could read together
with a list of problems, and only the rim decides to stop.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

# From this likeness on (0 to 1, of `difflib`, whose own default it is) a name is taken for a slip of another.
NEAR = 0.6


@dataclass(frozen=True, order=True)
class Problem:
    """One mistake. `line` counts from 1; 0 means the file as a whole."""

    file: str
    line: int
    what: str
    allowed: str = ""

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}: " if self.line else f"{self.file}: "
        return f"{place}{self.what}; {self.allowed}" if self.allowed else f"{place}{self.what}"


class ProblemsFound(Exception):
    """Raised at the rim only: the input has mistakes and nothing may be planned or written."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = sorted(set(problems))
        super().__init__("\n".join(map(str, self.problems)))


class NoWeather(Exception):
    """The weather could not be had from outside: the machine's or the network's fault."""


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known name that a word most likely means, if one is near."""
    near = get_close_matches(word, sorted(set(known)), n=1, cutoff=NEAR)
    return near[0] if near else None


def did_you_mean(word: str, known: Iterable[str], limit: int = 12) -> str:
    """The `allowed` half of a message about an unknown name: the nearest known one, or the list."""
    names = sorted(set(known))
    near = nearest(word, names)
    if near is not None:
        return f"did you mean {near}?"
    if not names:
        return "none is known here"
    more = f" and {len(names) - limit} more" if len(names) > limit else ""
    return f"allowed: {', '.join(names[:limit])}{more}"
