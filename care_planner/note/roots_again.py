"""Root work noted twice within a year: more often a slip than a second time. Pure."""

from collections.abc import Iterable, Iterator

from care_planner.collection.tree import Tree
from care_planner.journal.model import Entry
from care_planner.rulebook.pack import TaxonRules
from care_planner.stages.noted import history_of
from care_planner.words.days import day_words

# Roots that were worked are left alone for a year or more: common practice, no source. Rot is the exception.
LEFT_ALONE_DAYS = 300


def roots_again(
    entry: Entry, notes: Iterable[Entry], tree: Tree, rules: TaxonRules, south: bool
) -> Iterator[str]:
    """What speaks against root work of an entry; nothing of a tray's part, which may follow the others."""
    days = _root_days([entry], rules, south)
    before = _root_days([one for one in notes if not one.plants], rules, south)
    if tree.last_repot is not None:
        before.add(tree.last_repot.date.toordinal())
    if entry.plants or not days:
        return
    day = min(days)
    near = [at for at in before if 0 < abs(day - at) < LEFT_ALONE_DAYS]
    if near:
        at = min(near, key=lambda one: abs(day - one))
        yield f"its roots were worked on {day_words(at)} too, {abs(day - at)} days from then"


def _root_days(entries: Iterable[Entry], rules: TaxonRules, south: bool) -> set[int]:
    works = history_of(entries, rules, south).works
    roots = {id for id, rule in rules.rules.items() if rule.heavy and rule.kind == "roots"}
    return {day for (id, _), days in works.items() if id in roots for day in days}
