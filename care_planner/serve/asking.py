"""What a link shows of the state, and what every page says."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from care_planner.calendar.text import one_line
from care_planner.collection.tree import Tree
from care_planner.folder.read_folder import Inputs
from care_planner.journal.model import Entry
from care_planner.plan import Plan
from care_planner.rulebook.pack import TaxonRules
from care_planner.serve.cards import Noted
from care_planner.serve.changes import groups_of_changes
from care_planner.serve.entry_words import entry_words
from care_planner.serve.note_form import LEFT_WORDS
from care_planner.serve.note_parts import names_of, told
from care_planner.serve.notebook import FormOutcome, Fresh
from care_planner.serve.planner import ServedView
from care_planner.serve.scope import Scope
from care_planner.spans import is_south
from care_planner.words.days import day_words, weekday_words

Values = dict[str, Any]


@dataclass(frozen=True, eq=False)
class Asking:
    """What a page is made from: the state, whose link asks for what of it, the day, and the newest notes."""

    view: ServedView
    scope: Scope
    today: date
    fresh: Fresh = field(default_factory=Fresh)
    name: str = ""


@dataclass(frozen=True, eq=False)
class ShownState:
    """What a link shows of the state: the trees are those of its scope."""

    inputs: Inputs
    plan: Plan
    trees: frozenset[str]
    entries: Sequence[Entry]

    def rules(self, tree: Tree) -> TaxonRules:
        return self.inputs.rulebook.taxa[tree.taxon]

    @property
    def south(self) -> bool:
        return is_south(self.inputs.collection.site.latitude)


def state_of(asking: Asking) -> ShownState | None:
    view = asking.view
    if view.inputs is None or view.plan is None:
        return None
    trees = asking.scope.trees(view.inputs.collection, view.plan.tasks)
    return ShownState(view.inputs, view.plan, trees, asking.fresh.over(view.inputs.entries))


def shown_trees(view: ServedView, scope: Scope) -> frozenset[str]:
    """Ids of the trees a link shows; none before the first plan."""
    if view.inputs is None or view.plan is None:
        return frozenset()
    return scope.trees(view.inputs.collection, view.plan.tasks)


def may_take_back(asking: Asking) -> dict[str, str]:
    """The entries that a link noted itself and that still stand, by id, each in a sentence."""
    state = state_of(asking)
    if state is None:
        return {}
    taxa = {tree.id: state.rules(tree) for tree in shown_of(state)}
    held: defaultdict[str, list[Entry]] = defaultdict(list)
    for entry in state.entries:
        if entry.id and entry.by == asking.name and entry.by:
            held[entry.id].append(entry)
    return {
        id: told(
            names_of(sorted(e.tree for e in about)),
            entry_words(about[0], taxa[about[0].tree]),
            about[0].date,
        )
        for id, about in held.items()
        if all(entry.tree in taxa for entry in about)
    }


def noted_since(asking: Asking) -> Noted:
    """What was noted since the plan was made, by tree and work, stage or day without work."""
    assert asking.view.inputs is not None
    known = {entry.id for entry in asking.view.inputs.entries}
    return frozenset(
        (entry.tree, word)
        for entry in asking.fresh.added
        if entry.id not in known
        for word in (
            entry.did,
            entry.skipped,
            entry.put_off,
            entry.saw.stage if entry.saw is not None else "",
            *(map(str, range(entry.days_off[0], entry.days_off[1] + 1)) if entry.days_off else ()),
        )
        if word and not entry.plants
    )


def shown_of(state: ShownState) -> list[Tree]:
    return sorted((t for t in state.inputs.collection.trees if t.id in state.trees), key=lambda t: t.id)


def left_words(tree: Tree, today: date) -> str:
    """Since when a tree is no longer here, and why; empty while it is."""
    if tree.until is None or tree.until.date > today:
        return ""
    word = LEFT_WORDS[tree.until.why]
    return f"{word.capitalize()} on {day_words(tree.until.date.toordinal())}. Its notes stay as history."


def common(asking: Asking) -> Values:
    """What every page says: the place, the day, and whether the plan is there and fresh."""
    view, scope, today = asking.view, asking.scope, asking.today
    site = view.inputs.collection.site.name if view.inputs is not None else ""
    planned = day_words(view.plan.today) if view.plan is not None else ""
    faults = view.faults if scope.kind == "all" else view.faults and ("a mistake in the collection's files",)
    return {
        "site": one_line(site),
        "today": today,
        "today_words": weekday_words(today.toordinal()),
        "planned": planned,
        "faults": tuple(map(one_line, faults)),
        "number": view.number,
    }


def told_of(asking: Asking, state: ShownState, noted: FormOutcome | None) -> Values:
    """What became of the form that led here: what moved, and what of it can still be taken back."""
    if noted is None:
        return {"moved": (), "undo": ()}
    moved: Sequence[Any] = ()
    if noted.plan:
        moved = groups_of_changes(asking.view.changes, noted.before, state.trees, state.inputs.rulebook)
    standing = {entry.id for entry in state.entries}
    return {"moved": moved, "undo": tuple(entry for entry in noted.entries if entry in standing)}
