"""Which key of a tree a column's heading means, in plain words."""

from collections.abc import Sequence

from care_planner.collection.gazetteer.town import folded
from care_planner.problems import Problem, nearest

# By key: what people write above such a column, folded. The key itself, with _ as a blank, is always known.
HEADINGS: dict[str, tuple[str, ...]] = {
    "id": ("tree", "tree id", "no", "nr", "number", "tag", "label", "tree no"),
    "name": ("nickname", "description", "called", "cultivar", "variety name"),
    "taxon": ("species", "kind", "plant", "sort", "type", "botanical", "botanical name", "latin name"),
    "bench": ("place", "location", "where", "stand", "stands on", "spot", "position"),
    "winter_bench": ("winter place", "winter", "in winter", "winter location", "winter quarters", "shelter"),
    "goal": ("aim", "purpose"),
    "age": ("young or established",),
    "condition": ("health", "strength", "strong or weak"),
    "size": ("small or large",),
    "count": ("plants", "quantity", "how many", "pieces", "number of plants"),
    "pot.litres": ("litres", "pot litres", "pot size l", "pot volume", "liters", "pot l"),
    "pot.depth_cm": ("pot depth", "depth", "pot depth cm", "depth cm"),
    "last_repot.date": ("repotted", "last repotted", "repot date", "repotted on", "last repot"),
    "last_repot.roots_removed": ("roots removed",),
    "last_repot.tied_in": ("tied in",),
    "repot_every_years": ("repot every", "repot interval", "repot years"),
    "season_of_variety": ("flowering season", "early or late", "season"),
    "frost_limit_c": ("frost limit", "hardy to", "min temperature"),
    "acquired": ("bought", "acquired on", "bought on", "purchase date", "since"),
    "refined": (),
    "multicoloured": ("multicolored", "several colours"),
    "wired": ("wire",),
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


def key_of(heading: str) -> str | None:
    """The key that a heading means: `Pot (litres)` is pot.litres; None where it means none."""
    plain = folded("".join(c if c.isalnum() or c in " .-" else " " for c in heading))
    for key, words in HEADINGS.items():
        if plain in (key.replace("_", " "), key.replace("_", " ").replace(".", " "), *words):
            return key
    return None


def keys_of(headings: Sequence[str], shown: str) -> tuple[list[str | None], list[Problem]]:
    """The key of each column, None where it is left out; two columns for one key are a mistake."""
    keys = [key_of(heading) for heading in headings]
    problems = []
    for number, key in enumerate(keys):
        if key is not None and key in keys[:number]:
            first = headings[keys.index(key)]
            what = f"columns {first!r} and {headings[number]!r} both mean {key}"
            problems.append(Problem(shown, 1, what, "rename one of them"))
    if "taxon" not in keys:
        known = ("taxon", *HEADINGS["taxon"])
        near = next((h for h in headings if nearest(folded(h), known) is not None), None)
        what = "no column says of what kind a tree is" + (f" ({near!r}?)" if near else "")
        problems.append(Problem(shown, 1, what, "a heading such as taxon, species or kind"))
    return keys, problems
