"""A tree that is no longer there, as people say it."""

from collections.abc import Sequence

from care_planner.journal.speech import word_set

_EXACT = {
    "dead": "dead",
    "died": "dead",
    "tree dead": "dead",
    "tree died": "dead",
    "lost": "dead",
    "sold": "sold",
    "gave away": "given-away",
    "given away": "given-away",
    "gave it away": "given-away",
    "swapped": "given-away",
    "traded": "given-away",
    "lent": "lent",
    "lent out": "lent",
}
# What may follow, so that "died back" and "dead branch" are not the tree's end.
_AFTER = word_set("to at for in of from over this last with on")
_SMALL = word_set("it is was the has i we been")


def left_said(words: Sequence[str]) -> tuple[str, bool] | None:
    """What became of the tree (`sold`, `dead`, `given-away`, `lent`), and whether more is said of it."""
    told = [word for word in words if word not in _SMALL]
    if " ".join(words) in ("gave to a friend", "gave it to a friend", "given to a friend"):
        return "given-away", True
    for count in range(min(3, len(told)), 0, -1):
        what = _EXACT.get(" ".join(told[:count]))
        if what is not None and (
            len(told) == count or (told[count] in _AFTER and told[0] not in ("dead", "lost"))
        ):
            return what, len(told) > count
    return None
