"""Titles of entries: the tree or the count first, in 30 characters where that can be."""

from collections.abc import Sequence

from care_planner.tasks.agenda import Standing, Walk, Watch
from care_planner.tasks.rounds import Round
from care_planner.words.speaker import Speaker

SHORT_TITLE = 30


def round_title(work: Round, said: Speaker) -> str:
    """`sats-02: prune` or `Repot 4: sats-03, pine-02 ...`, in 30 characters where that can be."""
    title = f"Done: {work.title}" if work.done else work.title
    return _title(title, work.trees, said)


def watch_title(watch: Watch, ends: bool) -> str:
    """`From today: cover on nights of 2 degC`, and when it is over `Ends today: ...`."""
    head = "Ends today" if ends else "From today" if watch.began is None else "Goes on"
    return f"{head}: {lower(_short(watch.title, SHORT_TITLE - len(head) - 2))}"


def standing_title(standing: Standing) -> str:
    """`From today: shorten no shoots`."""
    return f"From today: {lower(_short(standing.tasks[0].title, SHORT_TITLE - len('From today: ')))}"


def question_title(title: str, trees: Sequence[str]) -> str:
    """`Done? Repot: sats-03`, or how many trees are asked for."""
    for short in dict.fromkeys((title, _short(title, 0))):
        for on in (f": {trees[0]}" if len(trees) == 1 else f": {len(trees)} trees", f" {len(trees)}"):
            asked = f"Done? {short}{on}"
            if len(asked) <= SHORT_TITLE:
                return asked
    return f"Done? {_short(title, 0)}"


def walk_title(walk: Walk) -> str:
    """`Bench walk: 9 things`."""
    count = len(walk.items)
    return f"Bench walk: {count} {'thing' if count == 1 else 'things'}"


def _title(work: str, trees: Sequence[str], said: Speaker) -> str:
    if len(trees) == 1:
        short = _short(work, SHORT_TITLE - len(trees[0]) - 2)
        name = said.names.get(trees[0], "")
        fits = bool(name) and len(name) + 2 + len(short) <= SHORT_TITLE
        return f"{name if fits else trees[0]}: {lower(short)}"
    head = f"{_short(work, SHORT_TITLE - 12)} {len(trees)}"
    named = ""
    for place, tree in enumerate(trees):
        longer = f"{named}, {tree}" if named else tree
        rest = " ..." if place + 1 < len(trees) else ""
        if len(f"{head}: {longer}{rest}") > SHORT_TITLE:
            break
        named = longer
    if not named:
        return head
    return f"{head}: {named}" + ("" if len(named.split(", ")) == len(trees) else " ...")


def _short(work: str, room: int) -> str:
    """A title without what follows its first comma, where it is too long with it."""
    return work if len(work) <= room else work.split(", ")[0]


def lower(text: str) -> str:
    """A title in the middle of a line; words in capitals stay."""
    return text if text[1:2].isupper() else text[:1].lower() + text[1:]


def upper(text: str) -> str:
    """A text at the head of a sentence."""
    return text[:1].upper() + text[1:]
