"""What a cell of a grower's list says, in the words that a collection takes."""

import re

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

NUMBERS = (
    "pot.litres",
    "pot.depth_cm",
    "pot.width_cm",
    "crown_cm",
    "repot_every_years",
    "frost_limit_c",
    "count",
)
DAYS = ("last_repot.date", "acquired", "known_from", "until.date")
YES_OR_NO = ("refined", "multicoloured", "wired", "last_repot.tied_in", "learn")
WORDS = ("goal", "age", "condition", "size", "season_of_variety", "until.why")
# Other words for the same.
_SAME = {
    "kraftig": "strong",
    "schwach": "weak",
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
# Words that say something near it: how they were read is told.
_TAKEN_AS = {
    "good": "strong",
    "healthy": "strong",
    "gut": "strong",
    "gesund": "strong",
    "poor": "weak",
    "old": "established",
    "mature": "established",
}
# What soils are made of, as the need of water takes them.
_SOILS = {
    "granules": ("granule", "akadama", "kanuma", "kiryu", "pumice", "lava", "perlite", "bims", "seramis"),
    "peat": ("peat", "bark", "compost", "humus", "torf", "rinde", "blumenerde"),
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
    if key == "pot.soil":
        return _soil(plain, cell)
    if key in WORDS:
        if plain in _TAKEN_AS:
            return _TAKEN_AS[plain], f"{cell!r} is read as {_TAKEN_AS[plain]}"
        return _SAME.get(plain, plain), ""
    return cell, ""


def _soil(plain: str, cell: str) -> tuple[str, str]:
    """A soil's kind; a mix of both, or one that is not known, is left out: it must not stop a list."""
    found = [kind for kind, parts in _SOILS.items() if any(part in plain for part in parts)]
    if len(found) == 1:
        return found[0], "" if found[0] == plain else f"{cell!r} is read as {found[0]}"
    return "", f"{cell!r} is left out: neither granules nor peat alone"


def _unless_nothing(cell: str) -> str:
    return "" if cell.strip().casefold() in NOTHING_KNOWN else cell
