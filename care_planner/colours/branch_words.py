"""What a person says of a branch or a batch in one short text -> the keys of an entry. Pure."""

import re
from collections.abc import Callable, Mapping

from care_planner.collection.branches import TRUNK
from care_planner.journal.branch_notes import TRUNK_LOST
from care_planner.rulebook.forms import Forms
from care_planner.typed_yaml.models import Mistake

Said = Mapping[str, object]

FORMS_OF_NOTES = (
    'allowed: flowers "white ground 12, striped 3" (then: in full sun; photo FILE), grows from BRANCH '
    "(since 2024, low, middle, high, inside, outside), cut, dead, cuttings BATCH 12, rooted 9, potted 9, "
    "kept, given-away 3"
)
_NAME = r"[a-z0-9][a-z0-9-]{0,63}"
MOST_FLOWERS = 100_000
_YOUNG = ("rooted", "potted", "kept", "given-away", "dead")


def split_target(name: str) -> tuple[str, str, int | None]:
    """`TREE`, `TREE/BRANCH`, `TREE/BATCH` or `TREE/BATCH/PLANT` -> the three; "" and None where not said."""
    tree, _, rest = name.partition("/")
    part, _, plant = rest.partition("/")
    return tree, part, int(plant) if plant.isdecimal() else None


def parse_branch_words(
    what: str, part: str, plant: int | None, forms: Forms, is_batch: bool
) -> Said | Mistake | None:
    """The keys of the entry that `what` says of a branch or a batch, or what is wrong; None for other texts.

    `part` is the branch or batch that was named beside the tree, "" for the whole tree; `plant` the number
    of one plant of a batch.
    """
    text = " ".join(what.replace('"', " ").split())
    head, _, rest = text.partition(" ")
    head = head.lower().rstrip(":")
    if not part and head in ("cut", "dead"):
        # Of a whole tree, others know what it says; but nobody can tell what was cut.
        bare = text.lower() in ("cut", "cut off")
        return (
            Mistake("'cut' of which branch?", "allowed: TREE/BRANCH cut; of the whole tree: pruned")
            if bare
            else None
        )
    owner: dict[str, object] = {"batch" if is_batch else "branch": part} if part else {}
    if plant is not None:
        owner["plant"] = plant
    if part == TRUNK and head == "dead":
        return Mistake(*TRUNK_LOST)
    said = _said(head, rest.strip(), forms, is_batch)
    return said if said is None or isinstance(said, Mistake) else {**owner, **said}


def speaks_of_flowers(what: str) -> bool:
    """Whether a note begins as one of flowers by form does."""
    return what.strip().lower().split(" ", 1)[0].rstrip(":") == "flowers"


def _said(head: str, rest: str, forms: Forms, is_batch: bool) -> Said | Mistake | None:
    if head == "given" and rest.startswith("away"):
        head, rest = "given-away", rest.removeprefix("away").strip()
    if is_batch and head in _YOUNG:
        return _young(head, rest)
    parsers: dict[str, Callable[[], Said | Mistake]] = {
        "flowers": lambda: _flowers(rest, forms),
        "grows": lambda: _grows(rest.lower()),
        "cuttings": lambda: _cuttings(rest.lower()),
        "cut": lambda: _lost("cut", rest),
        "dead": lambda: _lost("dead", rest),
    }
    return parsers[head]() if head in parsers else None


def _flowers(rest: str, forms: Forms) -> Said | Mistake:
    """`white ground 12, striped 3 in full sun photo FILE`."""
    said: dict[str, object] = {}
    rest, _, photo = rest.partition("photo ")
    if photo:
        said["photo"] = photo.strip()
    without = re.sub(r"[,;]?\s*\bin full sun\b", "", rest, flags=re.IGNORECASE)
    if without != rest:
        said["full_sun"] = True
    counts: dict[str, int] = {}
    for piece in filter(None, (part.strip() for part in re.split(r"[,;]|(?:^|\s)and(?=\s)", without))):
        found = _counted(piece, forms)
        if isinstance(found, Mistake):
            return found
        counts[found[0]] = counts.get(found[0], 0) + found[1]
    if not counts:
        return Mistake("flowers of which form?", FORMS_OF_NOTES)
    return {"flowers": counts, **said}


def _counted(piece: str, forms: Forms) -> tuple[str, int] | Mistake:
    """One form with its count, in either order."""
    found = re.fullmatch(r"(?:about |~)?(?:([0-9]+) )?([^0-9].*?)(?: (?:about |~)?([0-9]+))?", piece)
    counts = [count for count in (found[1], found[3]) if count] if found else []
    if found is None or len(counts) != 1 or not 1 <= int(counts[0]) <= MOST_FLOWERS:
        what = f"'{piece}' needs one count, a number from 1 to {MOST_FLOWERS}"
        return Mistake(what, "allowed: a form and about how many, such as striped 3")
    rung = forms.index(found[2])
    if rung is None:
        return Mistake(f"unknown form of flower '{found[2]}'", forms.allowed(found[2]))
    return forms.ladder[rung].id, int(counts[0])


def _grows(rest: str) -> Said | Mistake:
    found = re.fullmatch(
        rf"from (?P<parent>{_NAME})(?: since (?P<since>[0-9]{{4}}))?"
        r"(?: (?P<height>low|middle|high))?(?: (?P<depth>inside|outside))?",
        rest.replace(",", ""),
    )
    if found is None:
        what = f"'grows {rest}' is not understood" if rest else "'grows' from which branch?"
        return Mistake(
            what, "allowed: grows from BRANCH, then since 2024, low, middle or high, inside or outside"
        )
    keys = {
        "from": found["parent"],
        **{key: found[key] for key in ("since", "height", "depth") if found[key]},
    }
    return {"grows": keys}


def _cuttings(rest: str) -> Said | Mistake:
    found = re.fullmatch(rf"({_NAME}) ([0-9]{{1,6}})", rest)
    if found is None:
        return Mistake(f"'cuttings {rest}' is not understood", "allowed: cuttings BATCH and how many")
    return {"cuttings": {"batch": found[1], "count": int(found[2])}}


def _lost(how: str, rest: str) -> Said | Mistake:
    if rest and rest.lower() != "off":
        return Mistake(f"'{how} {rest}' is not understood", f"allowed: {how}; free text begins with: note")
    return {"lost": how}


def _young(event: str, rest: str) -> Said | Mistake:
    if not rest:
        return {"young": event}
    if not rest.isdecimal():
        return Mistake(f"'{event} {rest}': the count is not a number", f"allowed: {event}, or {event} 9")
    return {"young": event, "count": int(rest)}
