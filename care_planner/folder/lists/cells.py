"""What a cell of a grower's list says, in the words that a collection takes."""

import re
from collections.abc import Mapping, Sequence

from care_planner.collection.gazetteer.town import folded
from care_planner.folder.lists.list_days import list_day

_NUMBER_WITH_UNIT = re.compile(
    r"([+-]?\d+(?:[.,]\d+)?)\s*(?:l|cm|c|°c|degc|litres?|liters?|years?|y)?", re.IGNORECASE
)
_YEARS = re.compile(r"(\d{1,3})\s*(?:years?|yrs?|y|jahre?|a)?", re.IGNORECASE)
ESTABLISHED_YEARS = 10  # an age in years counts as established from here on; starting value
YES = ("yes", "y", "x", "true", "1", "ja", "oui")
NO = ("no", "n", "false", "0", "nein", "non", "-")
# What people write into a cell of which they know nothing.
NOTHING_KNOWN = ("?", "-", "--", "n/a", "na", "none", "unknown", "not known", "unbekannt", "keine")

NUMBERS = ("pot.litres", "pot.depth_cm", "repot_every_years", "frost_limit_c", "count")
DAYS = ("last_repot.date", "acquired", "known_from", "until.date")
YES_OR_NO = ("refined", "multicoloured", "wired", "last_repot.tied_in", "learn")
WORDS = ("goal", "age", "condition", "size", "season_of_variety", "until.why")
_SAME = {
    "good": "strong",
    "healthy": "strong",
    "gut": "strong",
    "gesund": "strong",
    "kraftig": "strong",
    "poor": "weak",
    "schwach": "weak",
    "old": "established",
    "mature": "established",
    "alt": "established",
    "jung": "young",
    "flower": "flowers",
    "vigor": "vigour",
    "big": "large",
    "gross": "large",
    "klein": "small",
    "fruh": "early",
    "spat": "late",
}
_MIDDLE = ("medium", "middle", "mittel")  # of flowering; there is no middle size


def cell_read(key: str, cell: str, south: bool = False) -> tuple[str, str]:
    """The cell as a collection would have it, and how it was read where it says less than that (else "").

    What is not understood is left for the model to refuse; a cell that says that nothing is known is empty.
    In the `south` spring is in September.
    """
    plain = folded(cell)
    if key in YES_OR_NO:
        return ("yes" if plain in YES else "no" if plain in NO else _unless_nothing(cell)), ""
    if key not in ("id", "name") and not _unless_nothing(cell):
        return "", ""
    if key in NUMBERS and (found := _NUMBER_WITH_UNIT.fullmatch(cell)):
        return found[1].replace(",", "."), ""
    if key in DAYS:
        return list_day(cell, south)
    if key == "age" and (found := _YEARS.fullmatch(plain)):
        age = "established" if int(found[1]) >= ESTABLISHED_YEARS else "young"
        return age, f"years are read as established from {ESTABLISHED_YEARS} on, as young below"
    if key == "season_of_variety" and plain in _MIDDLE:
        return "mid", ""
    if key in WORDS:
        return _SAME.get(plain, plain), ""
    return cell, ""


def _unless_nothing(cell: str) -> str:
    return "" if cell.strip().casefold() in NOTHING_KNOWN else cell


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
