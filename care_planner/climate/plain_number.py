"""A cell of a table read as a number, the way people and instruments write one."""

import math
import re

# `float()` also takes 1_0 for ten, and digits of other scripts.
_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?", re.ASCII)


def plain_number(cell: str) -> float | None:
    """The number in a cell, blanks around it aside; None for anything else, an empty cell too."""
    text = cell.strip()
    if not _PLAIN.fullmatch(text):
        return None
    value = float(text)
    return value if math.isfinite(value) else None
