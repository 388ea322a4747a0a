"""What a grower answers before a collection begins, and the collection.yaml that follows from it."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from care_planner.collection.gazetteer.town import Town
from care_planner.folder.lists.kinds import taxon_of
from care_planner.folder.lists.text import flow

# Rough values of our own for a mild maritime place in the north, January first, degC; no source.
ROUGH_LOWS = (1, 1, 3, 5, 9, 12, 14, 14, 11, 8, 4, 2)
ROUGH_HIGHS = (6, 7, 11, 15, 19, 21, 23, 23, 20, 15, 10, 7)
STATION = "station"
ROUGH = "rough"
SHED = "shed"
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_NUMBERED = re.compile(r"\s*(\d{1,4})?\s*(?:x\s+)?([^\d,;]+?)\s*")


@dataclass(frozen=True)
class StarterAnswers:
    """All that a new collection.yaml says. `weather`: STATION, ROUGH or a file's name in the folder;
    `trees`: as plain data, or nothing for the four of the commented starter."""

    place: Town | None = None
    benches: tuple[str, ...] = ("open",)
    shelters: tuple[str, ...] = (SHED,)
    winter: str | None = SHED  # where a tree goes of which nothing else is said
    days: tuple[str, ...] = ("sat", "sun")
    weather: str = ROUGH
    trees: Sequence[Mapping[str, Any]] = field(default=())
    today: date | None = None  # what was due before it is no missed work


def named_benches(text: str) -> tuple[str, ...]:
    """Benches as typed, "terrace, north wall": each once."""
    return tuple(dict.fromkeys(" ".join(part.split()) for part in text.split(",") if part.strip()))


def named_days(text: str) -> tuple[str, ...] | None:
    """Weekdays as typed, "Sat and Sunday", "weekend" or "every day"; None where a word is none."""
    typed = " ".join(text.lower().split())
    text = {"weekend": "sat sun", "weekends": "sat sun"}.get(typed, text)
    if typed in ("every day", "all", "any", "daily"):
        return WEEKDAYS
    words = [word for word in re.split(r"[,\s]+", text.lower()) if word and word != "and"]
    days = [next((day for day in WEEKDAYS if word.startswith(day)), None) for word in words]
    return tuple(day for day in WEEKDAYS if day in days) if days and None not in days else None


def named_trees(text: str, taxa: Mapping[str, Sequence[str]]) -> tuple[list[dict[str, Any]], list[str]]:
    """Trees as typed, "5 satsuki, 2 maples and a pine", and the parts that name no kind or several."""
    trees: list[dict[str, Any]] = []
    unclear: list[str] = []
    counts: dict[str, int] = {}
    for part in re.split(r",|;|\band\b", text):
        found = _NUMBERED.fullmatch(part)
        words = re.sub(r"^(an?|one)\s+", "", found[2].strip(), flags=re.IGNORECASE) if found else ""
        kinds = taxon_of(words, taxa) if words else []
        if len(kinds) != 1:
            unclear += [part.strip()] if part.strip() else []
            continue
        for _ in range(int(found[1] or 1) if found else 0):
            counts[kinds[0]] = counts.get(kinds[0], 0) + 1
            trees.append({"id": f"{kinds[0].split('-')[-1]}-{counts[kinds[0]]:02d}", "taxon": kinds[0]})
    return _apart(trees), unclear


def _apart(trees: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Two kinds that share a last word (two azaleas) are named in full."""
    stems: dict[str, set[str]] = {}
    for tree in trees:
        stems.setdefault(tree["id"].rsplit("-", 1)[0], set()).add(tree["taxon"])
    for tree in trees:
        stem, number = tree["id"].rsplit("-", 1)
        if len(stems[stem]) > 1:
            tree["id"] = f"{tree['taxon']}-{number}"
    return trees


def weather_text(answers: StarterAnswers) -> str:
    """The site's weather in YAML; monthly means are turned round in the south."""
    if answers.weather == STATION:
        return "  weather: {meteostat: nearest}   # the nearest station of a public archive"
    if answers.weather != ROUGH:
        return f"  weather: {flow(answers.weather)}"
    south = answers.place is not None and answers.place.latitude < 0
    lows, highs = (_turned(ROUGH_LOWS), _turned(ROUGH_HIGHS)) if south else (ROUGH_LOWS, ROUGH_HIGHS)
    return (
        "  # CHANGE the weather: it decides every date. These twelve monthly means are rough values of our\n"
        "  # own for a mild maritime place; they are NOT your place's. Even with your own, dates may be a\n"
        "  # week off, and the late frost of one year in ten two weeks. Better, best first:\n"
        "  # weather: weather.csv.gz (a daily record in this folder, ten years or more);\n"
        "  # weather: {meteostat: nearest} (the nearest station, fetched once and kept here).\n"
        "  weather:\n    monthly:\n"
        f"      tmin_c: {flow(list(map(str, lows)))}\n      tmax_c: {flow(list(map(str, highs)))}"
    )


def _turned(months: tuple[int, ...]) -> tuple[int, ...]:
    return months[6:] + months[:6]


def answered_text(answers: StarterAnswers) -> str:
    """The collection.yaml of a grower who has answered where the place is."""
    place = answers.place
    assert place is not None
    lines = [
        "# yaml-language-server: $schema=schemas/collection.schema.json",
        "#",
        "# Your collection. After each change:  care-planner check FOLDER",
        "",
        "site:",
        "  name: My trees",
        f"  # {place.label}, by GeoNames (geonames.org, CC BY 4.0); the garden's own position is better",
        f"  latitude: {place.latitude:g}",
        f"  longitude: {place.longitude:g}",
        *([f"  elevation_m: {place.height_m:g}"] if place.height_m is not None else []),
        f"  timezone: {place.timezone}",
        weather_text(answers),
        "",
        "# Where trees stand. offset_c: warmer (+) or colder (-) than the weather above. A shelter has a",
        "# floor (its air never gets colder) and a vent (opened from this temperature on). degC.",
        "benches:",
        *(f"  {flow(bench)}: {{}}" for bench in answers.benches),
        *(
            f"  {flow(name)}: {{floor_c: 2, vent_c: 8}}"
            for name in answers.shelters
            if name not in answers.benches
        ),
        "",
        "people:",
        f"  days: {flow(list(answers.days))}   # favourite days: a wish",
        "  away: []                # [{from: 2027-06-05, to: 2027-06-14}]",
        "",
        "risk: {frost: 0.1}        # the chance of frost damage a season that you accept",
        "",
        "# What else you know of a tree makes the plan better: age, condition, last_repot, goal ...",
        "# `care-planner answer FOLDER` asks for what decides most.",
        "trees:",
        *(f"  - {flow(_with_bench(tree, answers))}" for tree in answers.trees),
    ]
    return "\n".join(lines) + "\n"


def starter_trees(answers: StarterAnswers) -> StarterAnswers:
    """The answers with a tree of each kind that a beginner is likely to have, where none was named."""
    if answers.trees:
        return answers
    kinds = ("satsuki-azalea", "japanese-maple", "japanese-black-pine")
    trees = [{"id": f"{kind.split('-')[-1]}-01", "taxon": kind} for kind in kinds]
    return replace(answers, trees=trees)


def _with_bench(tree: Mapping[str, Any], answers: StarterAnswers) -> dict[str, Any]:
    winter = {"winter_bench": answers.winter} if answers.winter else {}
    stands = {"bench": answers.benches[0], **winter} if "bench" not in tree else {}
    known = tree.keys() & {"acquired", "known_from"}
    since = {"known_from": answers.today.isoformat()} if answers.today is not None and not known else {}
    return {**{key: tree[key] for key in ("id", "taxon")}, **stands, **tree, **since}
