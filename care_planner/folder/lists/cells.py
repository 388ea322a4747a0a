"""What a cell of a grower's list says, in the words that a collection takes."""

import re
from collections.abc import Mapping, Sequence

from care_planner.collection.gazetteer.town import folded

_NUMBER_WITH_UNIT = re.compile(
    r"([+-]?\d+(?:[.,]\d+)?)\s*(?:l|cm|c|°c|degc|litres?|liters?|years?|y)?", re.IGNORECASE
)
_DOTTED_DAY = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})")
YES = ("yes", "y", "x", "true", "1", "ja", "oui")
NO = ("no", "n", "false", "0", "nein", "non", "-")

NUMBERS = ("pot.litres", "pot.depth_cm", "repot_every_years", "frost_limit_c", "count")
DAYS = ("last_repot.date", "acquired", "known_from", "until.date")
YES_OR_NO = ("refined", "multicoloured", "wired", "last_repot.tied_in", "learn")
WORDS = ("goal", "age", "condition", "size", "season_of_variety", "until.why")
_SAME = {
    "good": "strong",
    "healthy": "strong",
    "poor": "weak",
    "old": "established",
    "mature": "established",
    "flower": "flowers",
    "vigor": "vigour",
    "big": "large",
    "medium": "mid",
    "middle": "mid",
}


def cell_text(key: str, cell: str) -> str:
    """The cell as a collection would have it; what is not understood is left for the model to refuse."""
    if key in NUMBERS and (found := _NUMBER_WITH_UNIT.fullmatch(cell)):
        return found[1].replace(",", ".")
    if key in DAYS and (found := _DOTTED_DAY.fullmatch(cell)):
        return f"{found[3]}-{int(found[2]):02d}-{int(found[1]):02d}"
    plain = folded(cell)
    if key in YES_OR_NO:
        return "yes" if plain in YES else "no" if plain in NO else cell
    if key in WORDS:
        return _SAME.get(plain, plain)
    return cell


def taxon_of(cell: str, taxa: Mapping[str, Sequence[str]]) -> list[str]:
    """The taxa a cell can mean. `taxa`: by id, its other names (title, botanical).

    An exact name wins; else every taxon whose names hold all the words of the cell ("maple", "Satsuki").
    """
    plain = folded(cell)
    exact = [id for id, names in taxa.items() if plain in (folded(name) for name in (id, *names))]
    if exact:
        return exact
    words = {word.removesuffix("s") for word in plain.split()}
    return [
        id
        for id, names in taxa.items()
        if words and words <= {w.removesuffix("s") for name in (id, *names) for w in folded(name).split()}
    ]
