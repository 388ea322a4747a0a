"""How far a tree's flowers are open, as people say it: a third open, 40 percent, all open, one flower out."""

from collections.abc import Sequence

from care_planner.journal.speech import word_set

# 0 to 1. "Most" and "nearly all" are rough: common practice, no source.
_PARTS = {
    "a quarter": 0.25,
    "one quarter": 0.25,
    "quarter": 0.25,
    "a third": 0.33,
    "one third": 0.33,
    "third": 0.33,
    "half": 0.5,
    "two thirds": 0.67,
    "three quarters": 0.75,
    "most": 0.75,
    "nine tenths": 0.9,
    "nearly all": 0.9,
    "almost all": 0.9,
    "all": 1.0,
    "everything": 1.0,
    "fully": 1.0,
    "completely": 1.0,
    "none": 0.0,
}
_FLOWERS = word_set("of the its flowers flower buds blossoms blooms are is now about around roughly some")
_OPEN = frozenset({"open", "opened", "out"})


def share_said(words: Sequence[str]) -> float | None:
    """The share open (0 to 1) that the words say, all of them; None for other texts."""
    said = [word for word in words if word not in _FLOWERS]
    if not _OPEN & set(said) and not {"percent", "per"} & set(said):
        return None
    said = [word for word in said if word not in _OPEN]
    part = " ".join(said)
    if part in _PARTS:
        return _PARTS[part]
    number = said[0] if said else ""
    if number.isdecimal() and said[1:] in (["percent"], ["per", "cent"]) and int(number) <= 100:
        return int(number) / 100
    return None
