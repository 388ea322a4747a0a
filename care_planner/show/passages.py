"""A heading with its lines: what terminal and page both show, so that they cannot differ."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from care_planner.show.wrapping import wrapped


@dataclass(frozen=True)
class Passage:
    """A heading, its lines, and a table where there is one. A line that begins with two spaces belongs under
    the one before it."""

    title: str
    lines: tuple[str, ...] = ()
    urgent: bool = False
    head: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()


def passage_lines(blocks: Iterable[Passage]) -> Iterator[str]:
    """The blocks for a terminal of 80 columns, an empty line before each but the first."""
    for number, block in enumerate(blocks):
        if number:
            yield ""
        yield from wrapped(block.title)
        for line in block.lines:
            indent = "    " if line.startswith("  ") else "  "
            yield from wrapped(line.strip(), indent, indent + "  ")
        if block.rows:
            columns = list(zip(block.head, *block.rows, strict=True))
            widths = [max(map(len, column)) for column in columns]
            for row in (block.head, *block.rows):
                first, *rest = row
                cells = [first.ljust(widths[0]), *(c.rjust(w) for c, w in zip(rest, widths[1:], strict=True))]
                yield f"  {'   '.join(cells)}"
