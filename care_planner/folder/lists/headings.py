"""Which key of a tree a column's heading means, in plain words."""

from collections.abc import Sequence

from care_planner.collection.gazetteer.town import folded
from care_planner.problems import Problem, nearest

# By key: what people write above such a column, folded, also in German. The key itself, with _ as a blank, is
# always known.
HEADINGS: dict[str, tuple[str, ...]] = {
    "id": ("tree", "tree id", "tag", "label", "baum", "pflanze", "etikett"),
    "name": ("nickname", "description", "called", "cultivar", "variety name", "tree name", "sortenname"),
    "taxon": (
        *("species", "kind", "plant", "sort", "type", "botanical", "botanical name", "latin name", "genus"),
        *("kind of tree", "art", "gattung", "baumart"),
    ),
    "bench": (
        *("place", "location", "where", "stand", "stands", "stands on", "where stands", "where is", "spot"),
        *("position", "summer", "in summer", "summer place", "standort", "platz", "sommer"),
    ),
    "winter_bench": (
        *("winter place", "winter", "in winter", "where in winter", "winter location", "winter quarters"),
        *("winters", "shelter", "wintering", "winterplatz", "winterquartier", "uberwinterung"),
    ),
    "goal": ("aim", "purpose", "ziel"),
    "age": ("young or established", "years old", "how old", "alter"),
    "condition": ("health", "strength", "strong or weak", "zustand", "gesundheit"),
    "size": ("small or large", "grosse"),
    "count": ("plants", "quantity", "how many", "pieces", "number of plants", "anzahl", "stuck"),
    "pot.litres": (
        *("litres", "pot litres", "pot size l", "pot volume", "liters", "pot liters", "pot l", "topf l"),
        *("topf liter", "liter"),
    ),
    "pot.depth_cm": ("pot depth", "depth", "pot depth cm", "depth cm"),
    "pot.width_cm": ("pot width", "pot diameter", "width of pot", "topf breite", "topfbreite"),
    "pot.soil": ("soil", "soil mix", "mix", "substrate", "substrat", "erde"),
    "crown_cm": ("crown", "crown width", "width of crown", "kronenbreite"),
    "last_repot.date": (
        *("repotted", "last repotted", "last repotted on", "repot date", "repotted on", "last repot"),
        *("last repotting", "when repotted", "umgetopft", "zuletzt umgetopft", "umgetopft am"),
    ),
    "last_repot.roots_removed": ("roots removed",),
    "last_repot.tied_in": ("tied in",),
    "repot_every_years": ("repot every", "repot interval", "repot years"),
    "season_of_variety": ("flowering season", "early or late", "season"),
    "frost_limit_c": ("frost limit", "hardy to", "min temperature"),
    "acquired": (
        "bought",
        "acquired on",
        "bought on",
        "purchase date",
        "since",
        "gekauft",
        "gekauft am",
        "seit",
    ),
    "refined": (),
    "multicoloured": ("multicolored", "several colours"),
    "wired": ("wire", "gedrahtet", "draht"),
    "until.date": ("left on", "gone on", "sold on"),
    "until.why": ("left", "gone why"),
    "known_from": (),
    "learn": (),
    "remembered_bloom": (),
    "variety": (),
    "branches": (),
    "cuttings": (),
    "pot": (),
    "until": (),
}
# A running number names a tree only where nothing else does.
NUMBERING = ("no", "nr", "number", "tree no", "tree nr", "tree number", "lfd nr", "nummer", "#")
_SMALL_WORDS = frozenset({"it", "the", "a", "an", "its", "my", "did", "does", "do", "i", "was"})


def key_of(heading: str) -> str | None:
    """The key that a heading means: `Pot (litres)` is pot.litres; None where it means none."""
    plain = _plain(heading)
    for key, words in HEADINGS.items():
        if plain in (key.replace("_", " "), key.replace("_", " ").replace(".", " "), *words):
            return key
    return None


def _plain(heading: str) -> str:
    """Folded, without signs and the small words of "where it stands"."""
    kept = folded("".join(c if c.isalnum() or c in " .-#" else " " for c in heading))
    return " ".join(word for word in kept.split() if word not in _SMALL_WORDS)


def keys_of(headings: Sequence[str], shown: str) -> tuple[list[str | None], list[Problem]]:
    """The key of each column, None where it is left out; two columns for one key are a mistake, and the
    second is left out."""
    keys = [key_of(heading) for heading in headings]
    if "id" not in keys and "name" not in keys:
        numbers = [number for number, heading in enumerate(headings) if _plain(heading) in NUMBERING]
        for number in numbers[:1]:
            keys[number] = "id"
    problems = []
    for number, key in enumerate(keys):
        if key is not None and key in keys[:number]:
            first = headings[keys.index(key)]
            what = f"columns {first!r} and {headings[number]!r} both mean {key}"
            problems.append(Problem(shown, 1, what, "rename one of them"))
            keys[number] = None
    if "taxon" not in keys:
        known = ("taxon", *HEADINGS["taxon"])
        near = next((h for h in headings if nearest(folded(h), known) is not None), None)
        what = "no column says of what kind a tree is" + (f" ({near!r}?)" if near else "")
        problems.append(Problem(shown, 1, what, "a heading such as taxon, species or kind"))
    return keys, problems
