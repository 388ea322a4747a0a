"""What pages look up again and again, found once for each state and kept while it is the newest."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from care_planner.journal.model import Entry
from care_planner.serve.cards import Noted
from care_planner.serve.day_page import DayPage, day_page
from care_planner.serve.planner import ServedView
from care_planner.serve.scope import Scope
from care_planner.show.colour_table import ColourTable, colour_tables
from care_planner.show.pictures.draw_svg import row_picture
from care_planner.show.pictures.drawn import Picture
from care_planner.show.pictures.tree_year import tree_picture
from care_planner.spans import Span, is_south, season_start
from care_planner.tasks.model import Task
from care_planner.tasks.stage_rows import StageRow

STATES_KEPT = 2
PICTURES_KEPT = 4_000
DAYS_KEPT = 32


@dataclass(frozen=True, eq=False)
class Index:
    """Tasks, stages and entries of each tree."""

    tasks: Mapping[str, Sequence[Task]]
    stages: Mapping[str, Sequence[StageRow]]
    entries: Mapping[str, Sequence[Entry]]
    # Kept here and not by state: a cache that knows old states keeps their plans alive.
    pictures: dict[tuple[str, int, int, tuple[Entry, ...]], Picture] = field(default_factory=dict)
    lines: dict[tuple[str, int, int], str] = field(default_factory=dict)
    colours: dict[tuple[str, int], ColourTable | None] = field(default_factory=dict)


@lru_cache(maxsize=STATES_KEPT)
def index_of(view: ServedView) -> Index:
    """The index of a state that has a plan."""
    assert view.inputs is not None and view.plan is not None
    tasks: defaultdict[str, list[Task]] = defaultdict(list)
    stages: defaultdict[str, list[StageRow]] = defaultdict(list)
    entries: defaultdict[str, list[Entry]] = defaultdict(list)
    for task in view.plan.tasks:
        tasks[task.tree].append(task)
    for row in view.plan.stages:
        stages[row.tree].append(row)
    for entry in view.inputs.entries:
        entries[entry.tree].append(entry)
    return Index(tasks, stages, entries)


def picture_of(
    view: ServedView, tree: str, season: int, today: int, added: tuple[Entry, ...] = ()
) -> Picture:
    """A tree's season as the state knows it, with the entries `added` since."""
    kept, key = index_of(view).pictures, (tree, season, today, added)
    if key not in kept:
        if len(kept) >= PICTURES_KEPT:
            kept.clear()
        kept[key] = _picture(view, tree, season, today, added)
    return kept[key]


def _picture(view: ServedView, tree: str, season: int, today: int, added: tuple[Entry, ...]) -> Picture:
    assert view.inputs is not None
    index, collection = index_of(view), view.inputs.collection
    taxon = next(one.taxon for one in collection.trees if one.id == tree)
    south = is_south(collection.site.latitude)
    return tree_picture(
        tree,
        Span(season_start(season, south), season_start(season + 1, south)),
        season,
        today,
        index.stages.get(tree, ()),
        index.tasks.get(tree, ()),
        [*index.entries.get(tree, ()), *added],
        view.inputs.rulebook.taxa[taxon],
        south,
    )


def line_of(view: ServedView, tree: str, season: int, today: int) -> str:
    """The same as one line among others, drawn."""
    kept, key = index_of(view).lines, (tree, season, today)
    if key not in kept:
        if len(kept) >= PICTURES_KEPT:
            kept.clear()
        kept[key] = row_picture(picture_of(view, tree, season, today))
    return kept[key]


@lru_cache(maxsize=DAYS_KEPT)
def day_of(view: ServedView, scope: Scope, today: int, noted: Noted) -> DayPage:
    """The page of the day of a link, as the state and the notes since it know it."""
    assert view.inputs is not None and view.plan is not None
    inputs = view.inputs
    return day_page(view.plan.tasks, inputs.collection, inputs.rulebook, scope, today, noted)


def colours_of(view: ServedView, tree: str, today: int) -> ColourTable | None:
    """What a tree's notes say of its branches, as the state knows them; None where nothing is noted."""
    kept = index_of(view).colours
    if (tree, today) not in kept:
        kept[tree, today] = _colours(view, today, (tree,)).get(tree)
    return kept[tree, today]


def _colours(view: ServedView, today: int, only: tuple[str, ...] | None = None) -> dict[str, ColourTable]:
    assert view.inputs is not None
    return colour_tables(view.inputs.collection, view.inputs.entries, view.inputs.rulebook, today, only)


def warm(view: ServedView, today: int) -> None:
    """Draw what the next page would have to wait for."""
    if view.inputs is None or view.plan is None:
        return
    for tree in view.inputs.collection.trees:
        line_of(view, tree.id, view.plan.season, today)
    day_of(view, Scope(), today, frozenset())
    held = _colours(view, today)  # all at once costs little more than one
    index_of(view).colours.update(
        {(tree.id, today): held.get(tree.id) for tree in view.inputs.collection.trees}
    )
