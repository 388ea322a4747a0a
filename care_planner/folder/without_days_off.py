"""Days that notes put off for every tree: then nobody works at all. Pure."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date

from care_planner.collection.model import Collection
from care_planner.journal.model import Entry


def with_days_off(collection: Collection, entries: Iterable[Entry], today: date) -> Collection:
    """The collection whose people do not work on days that are put off for all its trees."""
    trees: defaultdict[int, set[str]] = defaultdict(set)
    for entry in entries:
        if entry.days_off is not None and entry.date <= today:
            for day in range(entry.days_off[0], entry.days_off[1] + 1):
                trees[day].add(entry.tree)
    there = {t.id for t in collection.trees if t.until is None or t.until.date >= today}
    days = frozenset(day for day, named in trees.items() if there and there <= named)
    if not days:
        return collection
    return collection.model_copy(update={"people": collection.people.without(days)})
