"""A tree held against the one before it of its kind.

Most trees are like the one before them in nearly everything. So what is answered otherwise is followed from
stage to work to stage, and where nothing of it was asked, what was made for that tree holds without asking.
"""

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import fields

from care_planner.rulebook.pack import Node
from care_planner.years import queries
from care_planner.years.kept import Ask, Made, Question
from care_planner.years.state import TreeYears


def stand_beside(years: TreeYears) -> None:
    """Compare a tree, before it is resolved, with the last one of its kind."""
    tree, kept = years.tree, years.shared.kept
    place = years.rules.id, years.variety, tree.bench, tree.winter_bench
    kind = (*place, tree.goals, tree.age, tree.condition, tree.size)
    years.before = before = kept.latest.get(kind)
    kept.latest[kind] = years
    if before is None:
        return
    before.before = None  # or every tree would hold all those before it
    years.differs.update(_told_otherwise(years, before))


def _told_otherwise(years: TreeYears, before: TreeYears) -> Iterator[Question]:
    """The questions of what was told of two trees that they answer differently."""
    for ask in (
        queries.tree,
        queries.made_on,
        *((queries.belief, queries.pace) if years.belief != before.belief else ()),
    ):
        asked = years.shared.kept.asked[ask]
        yield from ((ask, one) for one in asked if ask(years, *one) != ask(before, *one))
    for field in fields(years.history):
        yield from _in_one_only(queries.noted, field.name, years.history, before.history)
    if years.previous is not before.previous:
        yield from _in_one_only(queries.was, "tasks", years.previous, before.previous)
        yield from _in_one_only(queries.was, "stages", years.previous, before.previous)
        works, others = years.previous.works, before.previous.works
        yield from (
            (queries.published, key) for key in {*works, *others} if works.get(key) != others.get(key)
        )
    yield from ((queries.laid, (part,)) for part, _ in years.laid.items() ^ before.laid.items())


def _in_one_only(ask: Ask, field: str, one: object, other: object) -> Iterator[Question]:
    """Questions of the keys of a field that two do not have in common."""
    held, others = getattr(one, field), getattr(other, field)
    if held == others:
        return
    if isinstance(held, Mapping):
        yield from ((ask, (field, key)) for key in {key for key, _ in held.items() ^ others.items()})
    elif isinstance(held, frozenset):
        yield from ((ask, (field, key)) for key in held ^ others)
    if ask is queries.noted:
        yield queries.all_noted, (field,)


def compare(name: Hashable, node: Node, years: TreeYears) -> None:
    """Note whether what became of a node is another thing than for the tree before.

    `name` is that under which it was shared.
    """
    before = years.before
    if before is None or (name in years.made and years.made[name] is before.made.get(name)):
        return
    ask, *about = queries.question(node)
    if ask(years, *about) != ask(before, *about):
        years.differs.add((ask, tuple(about)))


def as_before(name: Hashable, years: TreeYears) -> Made | None:
    """What was made for the tree before, where this one would answer the same."""
    before = years.before
    made = before.made.get(name) if before is not None else None
    if made is None or not made.plain.isdisjoint(years.differs):
        return None
    for (ask, about), said in made.other:
        if ask(years, *about) != said:
            return None
    return made
