"""Trees that a note says are sold, dead, given away or lent: the last day they were there. Pure."""

from collections.abc import Iterable

from care_planner.collection.model import Collection
from care_planner.collection.tree import Until
from care_planner.journal.model import Entry


def with_departures(collection: Collection, entries: Iterable[Entry]) -> Collection:
    """The collection with `until` as noted; what collection.yaml says of a tree's end stands."""
    left: dict[str, Entry] = {}
    for entry in entries:
        if entry.left and (entry.tree not in left or entry.date < left[entry.tree].date):
            left[entry.tree] = entry
    if not left:
        return collection
    trees = tuple(
        tree.model_copy(update={"until": _until(left[tree.id])})
        if tree.id in left and tree.until is None
        else tree
        for tree in collection.trees
    )
    return collection.model_copy(update={"trees": trees})


def _until(entry: Entry) -> Until:
    return Until.model_validate({"date": entry.date, "why": entry.left})
