"""A low read at a bench that is more likely a slip of the pen than a night. Pure."""

from collections.abc import Iterable, Iterator
from statistics import median

from care_planner.journal.model import Entry

# Beyond these a reading is doubted (degC): in the half of the year without winter, in winter, at any time.
# Cold places have such nights, so a second word (--sure) takes it: ours, no source.
_COLDEST_OUT_OF_WINTER_C, _COLDEST_C, _WARMEST_C = -12.0, -40.0, 30.0
_WINTER_MONTHS = (11, 12, 1, 2, 3)
# Lows of neighbouring nights are mostly nearer than this to their middle: ours, no source.
_NEAR_DAYS, _FEWEST, _FAR_C = 15, 3, 12.0


def odd_low(entry: Entry, notes: Iterable[Entry], south: bool) -> Iterator[str]:
    """What the season, and the tree's other readings about that day, say against a low."""
    low = entry.low_c
    if low is None:
        return
    month = entry.date.month if not south else (entry.date.month + 5) % 12 + 1
    coldest = _COLDEST_C if month in _WINTER_MONTHS else _COLDEST_OUT_OF_WINTER_C
    if not coldest <= low <= _WARMEST_C:
        yield f"a low of {low:g} degC in {entry.date:%B} is hardly ever so"
    near = [
        other.low_c
        for other in notes
        if other.low_c is not None and 0 < abs(other.day - entry.day) <= _NEAR_DAYS
    ]
    if len(near) >= _FEWEST and abs(low - median(near)) > _FAR_C:
        yield f"{len(near)} other lows of these weeks lie about {median(near):.1f} degC"
