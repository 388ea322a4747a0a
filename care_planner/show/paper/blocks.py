"""What a sheet is made of: plain blocks in their order. The template knows no more than these."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal


@dataclass(frozen=True, slots=True)
class Block:
    """A part of a sheet.

    `head`: a heading in `text`; `text`: a paragraph; `list`: `rows` of one cell each; `ticks`: `rows` of
    two or four cells (when, work, on, time), each with a box to tick before it; `table`: `rows` of cells, the
    first row its heads, and beside it, where there is one, a `photo` (JPEG) with its words in `words`;
    `picture`: an SVG in `text` with its words in `words`; `lines`: `rows` of one cell each, with a line to
    write on; `break`: a new page. `strong` marks what must not be overlooked.
    """

    kind: Literal["head", "text", "list", "ticks", "table", "picture", "lines", "break"]
    text: str = ""
    words: str = ""
    rows: tuple[tuple[str, ...], ...] = ()
    strong: bool = False
    photo: bytes = b""


@dataclass(frozen=True, slots=True)
class PaperSheet:
    """A document: `name` is its file's name without an ending; `small` is in small letters."""

    name: str
    title: str
    under: str
    blocks: tuple[Block, ...]
    small: bool = False


def head(text: str) -> Block:
    """A heading."""
    return Block("head", text)


def text(words: str, strong: bool = False) -> Block:
    """A paragraph."""
    return Block("text", words, strong=strong)


def listed(rows: Sequence[str], strong: bool = False) -> Block:
    """A list."""
    return Block("list", rows=tuple((row,) for row in rows), strong=strong)


def as_data(sheet: PaperSheet) -> dict[str, Any]:
    """The sheet as plain data for the template."""
    blocks = [
        {
            **{"kind": b.kind, "text": b.text, "words": b.words, "rows": b.rows, "strong": b.strong},
            "photo": list(b.photo),
        }
        for b in sheet.blocks
    ]
    return {"title": sheet.title, "under": sheet.under, "blocks": blocks, "small": sheet.small}
