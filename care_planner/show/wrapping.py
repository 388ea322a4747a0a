"""Text in the columns of a terminal."""

from textwrap import wrap

COLUMNS = 80


def wrapped(text: str, first: str = "", rest: str = "  ") -> list[str]:
    """A text in lines of at most 80 columns."""
    return wrap(text, COLUMNS, initial_indent=first, subsequent_indent=rest, break_long_words=True) or [""]
