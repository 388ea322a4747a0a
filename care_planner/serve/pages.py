"""What each page shows, as plain values for its template."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from care_planner.calendar.text import one_line
from care_planner.collection.tree import Tree
from care_planner.folder.read_folder import Inputs
from care_planner.journal.model import Entry
from care_planner.plan import Plan
from care_planner.rulebook.pack import TaxonRules
from care_planner.serve.changes import change_groups
from care_planner.serve.entry_words import entry_words
from care_planner.serve.notebook import Outcome
from care_planner.serve.planner import View
from care_planner.serve.scope import Scope
from care_planner.serve.subscribe import qr_svg, subscription_groups
from care_planner.serve.tree_year import Picture, tree_picture
from care_planner.serve.work_cards import tree_cards, when_words, work_page
from care_planner.spans import Span, is_south, season_start
from care_planner.words.days import day_words

CARDS_OF_A_TREE = 12
ENTRIES_SHOWN = 30
MARKS_IN_A_LINE = 2
Values = dict[str, Any]


@dataclass(frozen=True, slots=True)
class TreeRow:
    """A tree in the list of all."""

    tree: str
    name: str
    taxon: str
    bench: str
    next: str
    picture: Picture


@dataclass(frozen=True, eq=False)
class _State:
    """What a link shows of the state: the trees are those of its scope."""

    inputs: Inputs
    plan: Plan
    trees: frozenset[str]

    def rules(self, tree: Tree) -> TaxonRules:
        return self.inputs.rulebook.taxa[tree.taxon]

    @property
    def south(self) -> bool:
        return is_south(self.inputs.collection.site.latitude)


def _state(view: View, scope: Scope) -> _State | None:
    if view.inputs is None or view.plan is None:
        return None
    trees = scope.trees(view.inputs.collection, view.plan.tasks)
    return _State(view.inputs, view.plan, trees)


def shown_trees(view: View, scope: Scope) -> frozenset[str]:
    """Ids of the trees a link shows; none before the first plan."""
    state = _state(view, scope)
    return state.trees if state is not None else frozenset()


def week_page(view: View, scope: Scope, today: date, noted: Outcome | None) -> Values:
    """Late work, the week by bench, what to look at."""
    state = _state(view, scope)
    if state is None:
        return _common(view, scope, today)
    page = work_page(
        state.plan.tasks, state.inputs.collection, state.inputs.rulebook, scope, today.toordinal()
    )
    return {**_common(view, scope, today), "page": page, "moved": _moved(view, state, noted)}


def trees_page(view: View, scope: Scope, today: date) -> Values:
    """A row a tree."""
    state = _state(view, scope)
    if state is None:
        return _common(view, scope, today)
    rows = [
        TreeRow(
            tree.id,
            one_line(tree.name or ""),
            state.rules(tree).title,
            tree.bench,
            _next(state.plan, tree.id, state.rules(tree), today.toordinal()),
            _without_rounds(_picture(state, tree, state.plan.season, today)),
        )
        for tree in _trees(state)
    ]
    return {**_common(view, scope, today), "rows": rows}


def tree_page(
    view: View, scope: Scope, today: date, tree_id: str, season: str, noted: Outcome | None
) -> Values | None:
    """One tree's year, what comes and why, and what was noted; None where the link shows no such tree."""
    state = _state(view, scope)
    if state is None:
        return _common(view, scope, today)
    tree = next((tree for tree in _trees(state) if tree.id == tree_id), None)
    if tree is None:
        return None
    rules = state.rules(tree)
    shown = state.plan.season + (1 if season == str(state.plan.season + 1) else 0)
    tasks = [task for task in state.plan.tasks if task.tree == tree_id]
    entries = sorted((e for e in state.inputs.entries if e.tree == tree_id), key=lambda e: e.date)
    return {
        **_common(view, scope, today),
        "tree": tree,
        "name": one_line(tree.name or ""),
        "taxon": rules.title,
        "goal": tree.goal_in(state.plan.season),
        "picture": _picture(state, tree, shown, today),
        "seasons": (state.plan.season, state.plan.season + 1),
        "cards": tree_cards(tasks, rules, tree, today.toordinal(), CARDS_OF_A_TREE),
        "stages": [(id, stage.title) for id, stage in rules.stages.items()],
        "next_stage": _next_stage(state.plan, tree_id, today),
        "works": sorted(((id, rule.title) for id, rule in rules.rules.items()), key=lambda one: one[1]),
        "opens_flowers": rules.taxon.bloom_curve is not None,
        "entries": [_entry(entry, rules) for entry in reversed(entries[-ENTRIES_SHOWN:])],
        "moved": _moved(view, state, noted),
    }


def calendar_page(view: View, scope: Scope, page: str, secure: bool) -> Values:
    """Addresses to subscribe to. `page` is the address of the link's first page, ending in a slash."""
    state = _state(view, scope)
    values: Values = {"qr": qr_svg(f"{page}calendar"), "page_address": page, "secure": secure, "groups": []}
    if state is not None:
        collection = state.inputs.collection
        values["groups"] = subscription_groups(f"{page}feeds/", scope, collection, state.trees)
        values["site"] = one_line(collection.site.name)
    return values


def _common(view: View, scope: Scope, today: date) -> Values:
    """What every page says: the place, the day, and whether the plan is there and fresh."""
    site = view.inputs.collection.site.name if view.inputs is not None else ""
    planned = day_words(view.plan.today) if view.plan is not None else ""
    faults = view.faults if scope.kind == "all" else view.faults and ("a mistake in the collection's files",)
    return {
        "site": one_line(site),
        "today": today,
        "today_words": day_words(today.toordinal()),
        "planned": planned,
        "faults": tuple(map(one_line, faults)),
        "number": view.number,
    }


def _moved(view: View, state: _State, noted: Outcome | None) -> Sequence[Any]:
    if noted is None or not noted.plan:
        return ()
    return change_groups(view.changes, noted.before, state.trees, state.inputs.rulebook)


def _trees(state: _State) -> list[Tree]:
    return sorted((t for t in state.inputs.collection.trees if t.id in state.trees), key=lambda t: t.id)


def _picture(state: _State, tree: Tree, season: int, today: date) -> Picture:
    span = Span(season_start(season, state.south), season_start(season + 1, state.south))
    return tree_picture(
        span,
        season,
        today.toordinal(),
        [row for row in state.plan.stages if row.tree == tree.id],
        [task for task in state.plan.tasks if task.tree == tree.id],
        [entry for entry in state.inputs.entries if entry.tree == tree.id],
        state.rules(tree),
        state.south,
    )


def _without_rounds(picture: Picture) -> Picture:
    """A picture small enough for a line: without works that come again and again."""
    return replace(picture, works=tuple(row for row in picture.works if len(row.marks) <= MARKS_IN_A_LINE))


def _next(plan: Plan, tree: str, rules: TaxonRules, today: int) -> str:
    """The next work that does not come back by itself."""
    works = [
        task
        for task in plan.tasks
        if task.tree == tree and task.day >= today and rules.rules[task.rule].repeat is None
    ]
    if not works:
        return ""
    first = min(works, key=lambda task: (task.day, task.title))
    return f"{when_words(first.day, today)}: {one_line(first.title)}"


def _next_stage(plan: Plan, tree: str, today: date) -> str:
    """The stage to note next: the first that is expected and not seen, or was due most lately."""
    due = [
        (row.p50, row.stage)
        for row in plan.stages
        if row.tree == tree and row.basis == "expected" and row.p50 is not None
        if row.p90 is not None and row.p90 >= today.toordinal()
    ]
    return min(due, key=lambda row: row[0])[1] if due else ""


def _entry(entry: Entry, rules: TaxonRules) -> tuple[str, str]:
    return day_words(entry.day), entry_words(entry, rules)
