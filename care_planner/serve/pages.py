"""What each page shows, as plain values for its template."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from markupsafe import Markup

from care_planner.calendar.text import one_line
from care_planner.collection.tree import Tree
from care_planner.folder.read_folder import Inputs
from care_planner.journal.model import Entry
from care_planner.plan import Plan
from care_planner.rulebook.pack import TaxonRules
from care_planner.serve.ahead import TITLES, Part, ahead_blocks, ahead_of
from care_planner.serve.branches import branch_rows
from care_planner.serve.changes import groups_of_changes
from care_planner.serve.day_page import Noted, asked_cards, tree_cards, when_words
from care_planner.serve.entry_words import entry_words
from care_planner.serve.note_form import sign_words, told
from care_planner.serve.notebook import FormOutcome, Fresh
from care_planner.serve.planner import ServedView
from care_planner.serve.scope import Scope
from care_planner.serve.subscribe import qr_svg, subscription_groups
from care_planner.serve.view_index import day_of, index_of, line_of, picture_of
from care_planner.show.paper.away import (
    HOW_OFTEN,
    HOW_TO_TELL,
    NEVER,
    NO_ORDERS,
    POISON,
    away_facts,
    named,
    never_words,
    order_words,
    twice_words,
)
from care_planner.show.pictures.draw_svg import month_line, page_picture
from care_planner.spans import is_south
from care_planner.tasks.model import Task
from care_planner.words.days import day_words

CARDS_OF_A_TREE = 12
ENTRIES_SHOWN = 30
NEAR_DAYS = 14
LONGEST_AWAY_DAYS = 60
Values = dict[str, Any]


@dataclass(frozen=True, slots=True)
class TreeRow:
    """A tree in the list of all."""

    tree: str
    name: str
    taxon: str
    bench: str
    next: str
    line: Markup


@dataclass(frozen=True, eq=False)
class Asking:
    """What a page is made from: the state, whose link asks for what of it, the day, and the newest notes."""

    view: ServedView
    scope: Scope
    today: date
    fresh: Fresh = field(default_factory=Fresh)
    name: str = ""


@dataclass(frozen=True, slots=True)
class NotedLine:
    """A line of what was noted; `undo` is the entry that this link may take back, or empty."""

    day: str
    words: str
    undo: str


@dataclass(frozen=True, eq=False)
class _State:
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


def _state(asking: Asking) -> _State | None:
    view = asking.view
    if view.inputs is None or view.plan is None:
        return None
    trees = asking.scope.trees(view.inputs.collection, view.plan.tasks)
    return _State(view.inputs, view.plan, trees, asking.fresh.over(view.inputs.entries))


def shown_trees(view: ServedView, scope: Scope) -> frozenset[str]:
    """Ids of the trees a link shows; none before the first plan."""
    if view.inputs is None or view.plan is None:
        return frozenset()
    return scope.trees(view.inputs.collection, view.plan.tasks)


def may_take_back(asking: Asking) -> dict[str, str]:
    """The entries that a link noted itself and that still stand, by id, each in a sentence."""
    state = _state(asking)
    if state is None:
        return {}
    taxa = {tree.id: state.rules(tree) for tree in _trees(state)}
    held: defaultdict[str, list[Entry]] = defaultdict(list)
    for entry in state.entries:
        if entry.id and entry.by == asking.name and entry.by:
            held[entry.id].append(entry)
    return {
        id: told(sorted(e.tree for e in about), entry_words(about[0], taxa[about[0].tree]), about[0].date)
        for id, about in held.items()
        if all(entry.tree in taxa for entry in about)
    }


def week_page(asking: Asking, noted: FormOutcome | None, now: datetime) -> Values:
    """What the next nights call for, late work, the week by bench, what to look at."""
    state, scope, today = _state(asking), asking.scope, asking.today
    if state is None:
        return _common(asking)
    inputs = state.inputs
    noted_since = _noted_since(asking)
    page = day_of(asking.view, scope, today.toordinal(), noted_since)
    names = {tree.id: one_line(tree.name or "") for tree in inputs.collection.trees}
    asked = asked_cards(state.plan.questions, state.trees, names, today.toordinal(), noted_since)
    ahead = ahead_of(asking.view, state.trees, now) if scope.opens_trees else None
    shown = {"page": page, "asked": asked, "away": _away(asking, state), "ahead": ahead}
    return {**_common(asking), **shown, **_told(asking, state, noted)}


def ahead_page(asking: Asking, part: Part, now: datetime) -> Values | None:
    """The next nights, water or a show; None where nothing is told of it."""
    state = _state(asking)
    if state is None:
        return {**_common(asking), "title": TITLES[part], "part": part}
    blocks = ahead_blocks(asking.view, part, asking.scope, state.trees, now)
    if blocks is None:
        return None
    others = [one for one in ahead_of(asking.view, state.trees, now).parts if one[0] != part]
    return {**_common(asking), "title": TITLES[part], "part": part, "blocks": blocks, "others": others}


def _noted_since(asking: Asking) -> Noted:
    """What was noted since the plan was made, by tree and work or stage."""
    assert asking.view.inputs is not None
    known = {entry.id for entry in asking.view.inputs.entries}
    return frozenset(
        (entry.tree, word)
        for entry in asking.fresh.added
        if entry.id not in known
        for word in (entry.did, entry.skipped, entry.saw.stage if entry.saw is not None else "")
        if word
    )


def _away(asking: Asking, state: _State) -> Values | None:
    """The sheet for whoever waters, while everyone is away."""
    people, today = state.inputs.collection.people, asking.today.toordinal()
    if not people.is_away(today):
        return None
    last = today
    while people.is_away(last + 1) and last - today < LONGEST_AWAY_DAYS:
        last += 1
    inputs = state.inputs
    found = away_facts(
        state.plan, inputs.collection, inputs.rulebook, state.entries, today, last, state.trees
    )
    return {
        "days": f"until {day_words(last)}",
        "benches": [(b.bench, HOW_OFTEN[b.often], named(b.trees)) for b in found.benches],
        "tell": [*(HOW_TO_TELL[one] for one in sorted({b.often for b in found.benches})), twice_words(found)],
        "never": [*NEVER, *never_words(found)],
        "orders": [order_words(order) for order in found.orders] or [NO_ORDERS],
        "poison": POISON if found.poisonous else "",
    }


def trees_page(asking: Asking, wanted: str = "") -> Values:
    """A row a tree, by bench; only those whose names hold what is `wanted`, where anything is."""
    state, today = _state(asking), asking.today
    if state is None:
        return _common(asking)
    now, season, index = today.toordinal(), state.plan.season, index_of(asking.view)
    benches: defaultdict[str, list[TreeRow]] = defaultdict(list)
    for tree in _trees(state):
        rules, name = state.rules(tree), one_line(tree.name or "")
        if wanted and wanted.casefold() not in f"{tree.id} {name} {rules.title} {tree.bench}".casefold():
            continue
        coming = _next(index.tasks.get(tree.id, ()), rules, now)
        line = Markup(line_of(asking.view, tree.id, season, now))
        benches[tree.bench].append(TreeRow(tree.id, name, rules.title, tree.bench, coming, line))
    months = ""
    if benches:
        first = next(iter(benches.values()))[0].tree
        months = Markup(month_line(picture_of(asking.view, first, season, now)))
    return {**_common(asking), "benches": sorted(benches.items()), "months": months, "wanted": wanted}


def tree_page(asking: Asking, tree_id: str, season: str, noted: FormOutcome | None) -> Values | None:
    """One tree's year, what comes and why, and what was noted; None where the link shows no such tree."""
    state, today = _state(asking), asking.today
    if state is None:
        return _common(asking)
    tree = next((tree for tree in _trees(state) if tree.id == tree_id), None)
    if tree is None:
        return None
    rules = state.rules(tree)
    shown = state.plan.season + (1 if season == str(state.plan.season + 1) else 0)
    tasks = index_of(asking.view).tasks.get(tree_id, ())
    entries = sorted((e for e in state.entries if e.tree == tree_id), key=lambda e: e.date)
    added = tuple(entry for entry in asking.fresh.added if entry.tree == tree_id)
    picture = picture_of(asking.view, tree_id, shown, today.toordinal(), added)
    shown_entries = list(reversed(entries[-ENTRIES_SHOWN:]))
    return {
        **_common(asking),
        "tree": tree,
        "name": one_line(tree.name or ""),
        "taxon": rules.title,
        "goal": tree.goal_in(state.plan.season),
        "picture": picture,
        "drawn": Markup(page_picture(picture)),
        "seasons": (state.plan.season, state.plan.season + 1),
        "cards": tree_cards(
            tasks, rules, one_line(tree.name or ""), today.toordinal(), CARDS_OF_A_TREE, _noted_since(asking)
        ),
        "stages": [(id, stage.title) for id, stage in rules.stages.items()],
        "works": _works(tasks, rules, today.toordinal()),
        "signs": [(id, sign_words(id)) for id in sorted(rules.signs)],
        "benches": sorted(state.inputs.collection.benches),
        "forms": [(form.id, form.title) for form in rules.forms.ladder] if rules.forms else [],
        "branches": (
            branch_rows(tree, entries, rules.forms, state.plan.season, state.south) if rules.forms else []
        ),
        "opens_flowers": rules.taxon.bloom_curve is not None,
        "entries": [_line(entry, rules, asking.name) for entry in shown_entries],
        **_told(asking, state, noted),
    }


def calendar_page(asking: Asking, page: str, secure: bool) -> Values:
    """Addresses to subscribe to. `page` is the address of the link's first page, ending in a slash."""
    state, scope = _state(asking), asking.scope
    values: Values = {"qr": qr_svg(f"{page}calendar"), "page_address": page, "secure": secure, "groups": []}
    if state is not None:
        collection = state.inputs.collection
        values["groups"] = subscription_groups(f"{page}feeds/", scope, collection, state.trees)
        values["site"] = one_line(collection.site.name)
    return values


def _common(asking: Asking) -> Values:
    """What every page says: the place, the day, and whether the plan is there and fresh."""
    view, scope, today = asking.view, asking.scope, asking.today
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


def _told(asking: Asking, state: _State, noted: FormOutcome | None) -> Values:
    """What became of the form that led here: what moved, and what of it can still be taken back."""
    if noted is None:
        return {"moved": (), "undo": ()}
    moved: Sequence[Any] = ()
    if noted.plan:
        moved = groups_of_changes(asking.view.changes, noted.before, state.trees, state.inputs.rulebook)
    standing = {entry.id for entry in state.entries}
    return {"moved": moved, "undo": tuple(entry for entry in noted.entries if entry in standing)}


def _works(tasks: Sequence[Task], rules: TaxonRules, today: int) -> list[tuple[str, list[tuple[str, str]]]]:
    """Works to choose from: planned about now and late ones first, then all others by name."""
    near = [t for t in tasks if t.kind == "work" and t.day < today + NEAR_DAYS]
    first = list(dict.fromkeys(t.rule for t in sorted(near, key=lambda t: (t.day, t.title))))
    rest = sorted((id for id in rules.rules if id not in first), key=lambda id: rules.rules[id].title)
    groups = (("Planned about now", first), ("All other works", rest))
    return [(name, [(id, rules.rules[id].title) for id in ids]) for name, ids in groups if ids]


def _trees(state: _State) -> list[Tree]:
    return sorted((t for t in state.inputs.collection.trees if t.id in state.trees), key=lambda t: t.id)


def _next(tasks: Sequence[Task], rules: TaxonRules, today: int) -> str:
    """The next work that does not come back by itself."""
    works = [task for task in tasks if task.day >= today and rules.rules[task.rule].repeat is None]
    if not works:
        return ""
    first = min(works, key=lambda task: (task.day, task.title))
    return f"{when_words(first.day, today)}: {one_line(first.title)}"


def _line(entry: Entry, rules: TaxonRules, name: str) -> NotedLine:
    undo = entry.id if entry.by and entry.by == name else ""
    by = f" (noted by {one_line(entry.by)})" if entry.by and entry.by != name else ""
    return NotedLine(day_words(entry.day), entry_words(entry, rules) + by, undo)
