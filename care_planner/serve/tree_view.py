"""The page of one tree: its year, everything that can be noted of it, what comes and what was noted."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from care_planner.calendar.text import one_line
from care_planner.journal.model import Entry
from care_planner.rulebook.pack import TaxonRules
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
from care_planner.serve.branch_form import YOUNG
from care_planner.serve.branches import branch_rows, photos_by_branch
from care_planner.serve.cards import Card, tree_cards
from care_planner.serve.entry_words import entry_words, sign_words
from care_planner.serve.note_form import LEFT_WORDS
from care_planner.serve.notebook import FormOutcome
from care_planner.serve.view_index import colours_of, index_of, picture_of
from care_planner.show.colour_table import HOW_SURE
from care_planner.show.pictures.draw_svg import page_picture
from care_planner.spans import season_start
from care_planner.tasks.model import Task
from care_planner.words.days import day_words
from care_planner.words.names import own_name, says_the_same

CARDS_OF_A_TREE = 12
ENTRIES_SHOWN = 30
NEAR_DAYS = 14
BUDS_FROM_DAY, BUDS_TO_DAY = 243, 59  # days of the season: 1 September and 1 March in the north


@dataclass(frozen=True, slots=True)
class NotedLine:
    """A line of what was noted; `undo` is the entry that this link may take back, or empty."""

    day: str
    words: str
    undo: str


def tree_page(asking: Asking, tree_id: str, season: str, noted: FormOutcome | None) -> Values | None:
    """One tree's year, what comes and why, and what was noted; None where the link shows no such tree."""
    state, today = state_of(asking), asking.today
    if state is None:
        return common(asking)
    tree = next((tree for tree in shown_of(state) if tree.id == tree_id), None)
    if tree is None:
        return None
    rules = state.rules(tree)
    shown = state.plan.season + (1 if season == str(state.plan.season + 1) else 0)
    tasks = index_of(asking.view).tasks.get(tree_id, ())
    entries = sorted((e for e in state.entries if e.tree == tree_id), key=lambda e: e.date)
    added = tuple(entry for entry in asking.fresh.added if entry.tree == tree_id)

    def cards(of: Iterable[Task]) -> list[Card]:
        name, since = one_line(own_name(tree.id, tree.name)), noted_since(asking)
        return tree_cards(of, rules, name, today.toordinal(), CARDS_OF_A_TREE, since)

    picture = picture_of(asking.view, tree_id, shown, today.toordinal(), added)
    shown_entries = list(reversed(entries[-ENTRIES_SHOWN:]))
    return {
        **common(asking),
        "tree": tree,
        "name": one_line(own_name(tree.id, tree.name)),
        "taxon": "" if says_the_same(tree.id, rules.title) else rules.title,
        "goal": tree.goal_in(state.plan.season),
        "picture": picture,
        "drawn": Markup(page_picture(picture)),
        "seasons": (state.plan.season, state.plan.season + 1),
        "cards": cards(task for task in tasks if _has_a_day(task)),
        "besides": cards(task for task in tasks if not _has_a_day(task)),
        "stages": [(id, stage.title) for id, stage in rules.stages.items()],
        "works": _works(tasks, rules, today.toordinal()),
        "signs": [(id, sign_words(id)) for id in sorted(rules.signs - _buds(rules).keys())],
        "buds": list(_buds(rules).items()),
        "buds_now": _is_time_of_buds(today.toordinal(), state.plan.season, state.south),
        "left": left_words(tree, today),
        "left_words": list(LEFT_WORDS.items()),
        "benches": sorted(state.inputs.collection.benches),
        "colours": colours_of(asking.view, tree.id, today.toordinal()) if rules.forms else None,
        "young": list(YOUNG.items()),
        "almost": HOW_SURE,
        "photos": photos_by_branch(entries),
        "forms": [(form.id, form.title) for form in rules.forms.ladder] if rules.forms else [],
        "branches": branch_rows(tree, entries, rules.forms, state.plan.season, state.south),
        "opens_flowers": rules.taxon.bloom_curve is not None,
        "entries": [_line(entry, rules, asking.name) for entry in shown_entries],
        **told_of(asking, state, noted),
    }


def _has_a_day(task: Task) -> bool:
    """Work with a day of its own, and looks; else it is done in passing or as the weather turns."""
    return task.way == "work" or task.kind == "look"


def _buds(rules: TaxonRules) -> dict[str, str]:
    """Signs that say how many fat flower buds there are, `buds-many`, in the order of how many."""
    return {f"buds-{word}": word for word in ("many", "few", "none") if f"buds-{word}" in rules.signs}


def _is_time_of_buds(today: int, season: int, south: bool) -> bool:
    """Whether the buds of next spring can be told from shoots: from September to February in the north."""
    day = today - season_start(season, south)
    return day >= BUDS_FROM_DAY or day < BUDS_TO_DAY


def _works(tasks: Sequence[Task], rules: TaxonRules, today: int) -> list[tuple[str, list[tuple[str, str]]]]:
    """Works to choose from: planned about now and late ones first, then all others by name."""
    near = [t for t in tasks if t.kind == "work" and t.day < today + NEAR_DAYS]
    first = list(dict.fromkeys(t.rule for t in sorted(near, key=lambda t: (t.day, t.title))))
    rest = sorted((id for id in rules.rules if id not in first), key=lambda id: rules.rules[id].title)
    groups = (("Planned about now", first), ("All other works", rest))
    return [(name, [(id, rules.rules[id].title) for id in ids]) for name, ids in groups if ids]


def _line(entry: Entry, rules: TaxonRules, name: str) -> NotedLine:
    undo = entry.id if entry.by and entry.by == name else ""
    by = f" (noted by {one_line(entry.by)})" if entry.by and entry.by != name else ""
    return NotedLine(day_words(entry.day), entry_words(entry, rules) + by, undo)
