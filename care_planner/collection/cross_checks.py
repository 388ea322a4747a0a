"""Mistakes that no part of a collection shows alone: equal ids, unknown benches, blooms out of season.

The first two read the plain data, not the model, so that they are found beside any other mistake.
"""

from collections.abc import Iterator

from care_planner.collection.model import Collection
from care_planner.problems import Problem, did_you_mean
from care_planner.spans import is_south, season_of
from care_planner.typed_yaml.located import Located


def check_names(located: Located) -> list[Problem]:
    """Equal tree ids, and trees on benches that are not there."""
    return [
        *_equal_ids(located),
        *_unknown_benches(located),
        *_unknown_at_show(located),
        *_benches_alike(located),
    ]


def _trees(located: Located) -> Iterator[tuple[int, dict[str, object]]]:
    trees = located.at(("trees",))
    if isinstance(trees, list):
        yield from ((number, tree) for number, tree in enumerate(trees) if isinstance(tree, dict))


def _equal_ids(located: Located) -> Iterator[Problem]:
    first: dict[str, int] = {}
    for number, tree in _trees(located):
        name = tree.get("id")
        if not isinstance(name, str):
            continue
        line = located.line(("trees", number, "id"))
        if name in first:
            what = f"tree id {name!r} is given twice, first on line {first[name]}"
            yield Problem(located.file, line, what, "give each tree its own id")
        else:
            first[name] = line


def _benches_alike(located: Located) -> Iterator[Problem]:
    """Benches that differ only in capitals: one file on many disks, and one word to a person."""
    benches = located.at(("benches",))
    first: dict[str, str] = {}
    for name in benches if isinstance(benches, dict) else ():
        other = first.setdefault(name.casefold(), name)
        if other != name:
            line = located.line(("benches", name))
            yield Problem(
                located.file, line, f"benches {other!r} and {name!r} differ only in capitals", "rename one"
            )


def _unknown_benches(located: Located) -> Iterator[Problem]:
    benches = located.at(("benches",))
    if not isinstance(benches, dict) or not benches:
        return
    for number, tree in _trees(located):
        for key in ("bench", "winter_bench"):
            name = tree.get(key)
            if isinstance(name, str) and name not in benches:
                line = located.line(("trees", number, key))
                yield Problem(located.file, line, f"{key} {name!r} is unknown", did_you_mean(name, benches))


def _unknown_at_show(located: Located) -> Iterator[Problem]:
    """Trees of the show that are not in the collection."""
    names = located.at(("show", "trees"))
    known = [tree["id"] for _, tree in _trees(located) if isinstance(tree.get("id"), str)]
    for place, name in enumerate(names if isinstance(names, list) else ()):
        if isinstance(name, str) and name not in known:
            line = located.line(("show", "trees", place))
            yield Problem(located.file, line, f"show: no tree {name!r}", did_you_mean(name, map(str, known)))


def check_seasons(collection: Collection, located: Located) -> list[Problem]:
    """Remembered blooms that lie outside the season they are filed under."""
    south = is_south(collection.site.latitude)
    return [
        Problem(
            located.file,
            located.line(("trees", number, "remembered_bloom", str(season))),
            f"remembered_bloom of {season} is {day}, a day of season {season_of(day.toordinal(), south)}",
            "a season is named by the year in which its spring starts",
        )
        for number, tree in enumerate(collection.trees)
        for season, day in tree.remembered_bloom.items()
        if season_of(day.toordinal(), south) != season
    ]
