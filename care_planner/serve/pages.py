"""What the pages of the work, the trees and the calendar show, as plain values for their templates."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from care_planner.calendar.text import one_line
from care_planner.serve.ahead import TITLES, Part, ahead_blocks, ahead_of
from care_planner.serve.asked_cards import asked_cards
from care_planner.serve.asking import (
    Asking,
    Values,
    common,
    left_words,
    noted_since,
    shown_of,
    state_of,
    told_of,
)
from care_planner.serve.away_view import away_view
from care_planner.serve.cards import when_words
from care_planner.serve.notebook import FormOutcome
from care_planner.serve.subscribe import qr_svg, subscription_groups
from care_planner.serve.view_index import day_of, index_of, line_of, picture_of
from care_planner.show.pictures.draw_svg import month_line
from care_planner.tasks.model import Task
from care_planner.words.names import own_name, says_the_same


@dataclass(frozen=True, slots=True)
class TreeRow:
    """A tree in the list of all."""

    tree: str
    name: str
    taxon: str
    bench: str
    next: str
    line: Markup


def week_page(asking: Asking, noted: FormOutcome | None, now: datetime) -> Values:
    """What the next nights call for, late work, the week by bench, what to look at."""
    state, scope, today = state_of(asking), asking.scope, asking.today
    if state is None:
        return common(asking)
    inputs = state.inputs
    since = noted_since(asking)
    page = day_of(asking.view, scope, today.toordinal(), since)
    names = {tree.id: one_line(own_name(tree.id, tree.name)) for tree in inputs.collection.trees}
    asked = asked_cards(
        state.plan.questions, state.trees, names, today.toordinal(), since, state.plan.part_done
    )
    ahead = ahead_of(asking.view, state.trees, now) if scope.opens_trees else None
    shown = {"page": page, "asked": asked, "away": away_view(asking, state), "ahead": ahead}
    return {**common(asking), **shown, **told_of(asking, state, noted)}


def ahead_page(asking: Asking, part: Part, now: datetime) -> Values | None:
    """The next nights, water or a show; None where nothing is told of it."""
    state = state_of(asking)
    if state is None:
        return {**common(asking), "title": TITLES[part], "part": part}
    blocks = ahead_blocks(asking.view, part, asking.scope, state.trees, now)
    if blocks is None:
        return None
    others = [one for one in ahead_of(asking.view, state.trees, now).parts if one[0] != part]
    return {**common(asking), "title": TITLES[part], "part": part, "blocks": blocks, "others": others}


def trees_page(asking: Asking, wanted: str = "") -> Values:
    """A row a tree, by bench; only those whose names hold what is `wanted`, where anything is."""
    state, today = state_of(asking), asking.today
    if state is None:
        return common(asking)
    now, season, index = today.toordinal(), state.plan.season, index_of(asking.view)
    benches: defaultdict[str, list[TreeRow]] = defaultdict(list)
    gone: list[tuple[str, str]] = []
    for tree in shown_of(state):
        rules, name = state.rules(tree), one_line(own_name(tree.id, tree.name))
        if left := left_words(tree, today):
            gone.append((tree.id, left))
            continue
        if wanted and wanted.casefold() not in f"{tree.id} {tree.name} {rules.title} {tree.bench}".casefold():
            continue
        kind = "" if says_the_same(tree.id, rules.title) else rules.title
        coming = _next(index.tasks.get(tree.id, ()), now)
        line = Markup(line_of(asking.view, tree.id, season, now))
        benches[tree.bench].append(TreeRow(tree.id, name, kind, tree.bench, coming, line))
    months = ""
    if benches:
        first = next(iter(benches.values()))[0].tree
        months = Markup(month_line(picture_of(asking.view, first, season, now)))
    return {
        **common(asking),
        "benches": sorted(benches.items()),
        "months": months,
        "wanted": wanted,
        "gone": gone,
    }


def calendar_page(asking: Asking, page: str, secure: bool) -> Values:
    """Addresses to subscribe to. `page` is the address of the link's first page, ending in a slash."""
    state, scope = state_of(asking), asking.scope
    values: Values = {"qr": qr_svg(f"{page}calendar"), "page_address": page, "secure": secure, "groups": []}
    if state is not None:
        collection = state.inputs.collection
        values["groups"] = subscription_groups(f"{page}feeds/", scope, collection, state.trees)
        values["site"] = one_line(collection.site.name)
    return values


def _next(tasks: Sequence[Task], today: int) -> str:
    """The next work that has a day of its own."""
    works = [t for t in tasks if t.day >= today and t.way == "work" and t.kind == "work" and not t.done]
    if not works:
        return ""
    first = min(works, key=lambda task: (task.day, task.title))
    return f"{when_words(first.day, today)}: {one_line(first.title)}"
