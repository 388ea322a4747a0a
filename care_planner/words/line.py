"""A line of text that may hold days, so that whether a person would notice a change is told by days, not by
reading sentences."""

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Line:
    """Text in parts, a day (ordinal) between each two: ("Best ", " to ", ".") with two days."""

    parts: tuple[str, ...]
    days: tuple[int, ...] = ()

    def text(self, day_words: Callable[[int], str]) -> str:
        """The line as people read it."""
        shown = [self.parts[0]]
        for day, part in zip(self.days, self.parts[1:], strict=True):
            shown += [day_words(day), part]
        return "".join(shown)


def line(*parts: str | int) -> Line:
    """A line of texts and days in turn, a text first; a text at its end may be left out."""
    texts, days = parts[::2], parts[1::2]
    if len(texts) == len(days):
        texts = (*texts, "")
    return Line(tuple(map(str, texts)), tuple(int(day) for day in days))


def joined(lines: tuple[Line, ...] | list[Line], between: str) -> Line:
    """Several lines as one."""
    parts, days = list(lines[0].parts), list(lines[0].days)
    for more in lines[1:]:
        parts[-1] += between + more.parts[0]
        parts += more.parts[1:]
        days += more.days
    return Line(tuple(parts), tuple(days))
