"""Which kind of tree a cell of a grower's list names."""

import re
from collections.abc import Mapping, Sequence

from care_planner.collection.gazetteer.town import folded

# A cultivar behind the kind: Acer palmatum 'Deshojo'.
_CULTIVAR = re.compile(r"\s*[\"'\u2018\u201c][^\"'\u2019\u201d]*[\"'\u2019\u201d]\s*")
_SHORTEST_INITIALS = 3


def taxon_of(cell: str, taxa: Mapping[str, Sequence[str]]) -> list[str]:
    """The taxa a cell can mean. `taxa`: by id, its other names (title, botanical).

    An exact name wins; else every taxon whose names hold all the words of the cell ("maple", "Satsuki"), a
    cultivar in quotes aside; else one whose title begins with these letters ("JBP").
    """
    plain = folded(without_cultivar(cell))
    exact = [id for id, names in taxa.items() if plain in (folded(name) for name in (id, *names))]
    if exact:
        return exact
    words = {word.removesuffix("s") for word in plain.split()}
    found = [
        id
        for id, names in taxa.items()
        if words and words <= {w.removesuffix("s") for name in (id, *names) for w in folded(name).split()}
    ]
    return found or [id for id in taxa if len(plain) >= _SHORTEST_INITIALS and plain == _initials(id)]


def kind_told(cell: str, taxon: str) -> str:
    """How a cell was read where that needs telling."""
    plain = without_cultivar(cell)
    if plain != cell.strip():
        return f"the name in quotes is left out of {cell!r}"
    return f"{cell!r} is read as {taxon}" if folded(plain) == _initials(taxon) else ""


def without_cultivar(cell: str) -> str:
    """The kind alone, where a cultivar's name in quotes stands with it."""
    return _CULTIVAR.sub(" ", cell).strip() or cell


def _initials(id: str) -> str:
    return "".join(word[0] for word in id.split("-") if word)
