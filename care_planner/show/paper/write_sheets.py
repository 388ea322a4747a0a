"""Sheets of a collection, written as PDF files."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from care_planner.disk.write_whole import write_whole
from care_planner.folder.photographs import photographed
from care_planner.folder.read_folder import Inputs
from care_planner.folder.read_photo import read_photo
from care_planner.folder.read_previous import read_previous
from care_planner.plan import Plan, plan_with_colours
from care_planner.problems import Problem, ProblemsFound, did_you_mean
from care_planner.show.colour_table import ColourTable, colour_tables
from care_planner.show.paper.away import away_facts, away_sheet
from care_planner.show.paper.blocks import PaperSheet
from care_planner.show.paper.week import monday, week_sheet
from care_planner.show.paper.write_pdf import known_fonts, sheet_pdf
from care_planner.show.paper.years import NO_PHOTOGRAPH, Photograph, collection_sheet, tree_sheet
from care_planner.show.pictures.drawn import Picture
from care_planner.show.pictures.tree_year import tree_picture
from care_planner.spans import Span, is_south, season_start
from care_planner.words.days import day_words

LONGEST_AWAY_DAYS = 120
JPEG_START = b"\xff\xd8\xff"
PHOTO_OCTETS = 2_000_000  # what pages keep is a quarter of that


@dataclass(frozen=True, slots=True)
class SheetsWanted:
    """Which sheets: the week of a day, a tree's year, the weeks away; this week and the year where none."""

    week: date | None = None
    tree: str | None = None
    away: tuple[date, date] | None = None


def write_sheets(
    folder: Path, inputs: Inputs, today: date, wanted: SheetsWanted, to: Path, fonts: Sequence[Path]
) -> list[str]:
    """Write the sheets to the folder `to`; returns what a person should be told.

    Raises ProblemsFound for a tree that is not there, days in a wrong order or a letter that no font has;
    then no file was changed.
    """
    _check(inputs, wanted)
    previous, messages = read_previous(folder / "calendar")
    made = plan_with_colours(
        inputs.collection, inputs.entries, inputs.record, inputs.rulebook, today.toordinal(), previous
    )
    sheets = sheets_of(made, inputs, wanted, newest_photograph(folder, inputs, wanted.tree))
    pages = {sheet.name: sheet_pdf(sheet, [*fonts, *known_fonts()]) for sheet in sheets}
    to.mkdir(parents=True, exist_ok=True)
    for name, data in pages.items():
        write_whole(to / f"{name}.pdf", data)
    return [*messages, *(f"written: {to / name}.pdf" for name in pages)]


def _check(inputs: Inputs, wanted: SheetsWanted) -> None:
    problems = []
    trees = [tree.id for tree in inputs.collection.trees]
    if wanted.tree is not None and wanted.tree not in trees:
        problems.append(
            Problem("--tree", 0, f"unknown tree '{wanted.tree}'", did_you_mean(wanted.tree, trees))
        )
    if wanted.away is not None:
        first, last = wanted.away
        if not 0 <= (last - first).days <= LONGEST_AWAY_DAYS:
            allowed = f"allowed: the first day, then the last, {LONGEST_AWAY_DAYS} days later at most"
            problems.append(Problem("--away", 0, f"from {first} to {last}", allowed))
    if problems:
        raise ProblemsFound(problems)


def newest_photograph(folder: Path, inputs: Inputs, tree: str | None) -> Photograph:
    """The newest that a page kept of a tree; none where its file is gone or is no small JPEG."""
    for entry, name in photographed(entry for entry in inputs.entries if entry.tree == tree):
        data = read_photo(folder, name)
        if data is not None and data.startswith(JPEG_START) and len(data) <= PHOTO_OCTETS:
            branch = entry.branch.branch if entry.branch is not None else ""
            return Photograph(data, f"{branch or 'The tree'} on {day_words(entry.day)}")
    return NO_PHOTOGRAPH


def sheets_of(
    plan: Plan, inputs: Inputs, wanted: SheetsWanted, photo: Photograph = NO_PHOTOGRAPH
) -> list[PaperSheet]:
    """The sheets wanted, of a plan; `photo` is for the tree's."""
    collection, site = inputs.collection, inputs.collection.site.name or "Tree care"
    every = wanted == SheetsWanted()
    sheets = []
    if wanted.week is not None or every:
        day = wanted.week.toordinal() if wanted.week is not None else plan.today
        sheets.append(week_sheet(plan.tasks, site, monday(day)))
    if wanted.tree is not None:
        tree = next(tree for tree in collection.trees if tree.id == wanted.tree)
        rules = inputs.rulebook.taxa[tree.taxon]
        picture, colours = _picture(plan, inputs, tree.id), _colours(plan, inputs, tree.id)
        sheets.append(tree_sheet(tree, rules.title, picture, site, colours, photo))
    if wanted.away is not None:
        first, last = (day.toordinal() for day in wanted.away)
        facts = away_facts(plan, collection, inputs.rulebook, inputs.entries, first, last)
        sheets.append(away_sheet(facts, site))
    if every:
        pictures = {tree.id: _picture(plan, inputs, tree.id) for tree in collection.trees}
        sheets.append(collection_sheet(collection.trees, pictures, inputs.rulebook, site, plan.season))
    return sheets


def _colours(plan: Plan, inputs: Inputs, tree: str) -> ColourTable | None:
    return colour_tables(inputs.collection, inputs.entries, inputs.rulebook, plan.today, (tree,)).get(tree)


def _picture(plan: Plan, inputs: Inputs, tree: str) -> Picture:
    south = is_south(inputs.collection.site.latitude)
    taxon = next(one.taxon for one in inputs.collection.trees if one.id == tree)
    return tree_picture(
        tree,
        Span(season_start(plan.season, south), season_start(plan.season + 1, south)),
        plan.season,
        plan.today,
        [row for row in plan.stages if row.tree == tree],
        [task for task in plan.tasks if task.tree == tree],
        [entry for entry in inputs.entries if entry.tree == tree],
        inputs.rulebook.taxa[taxon],
        south,
    )
