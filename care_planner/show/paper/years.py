"""A tree's year and the whole collection's, with their pictures. Pure."""

from collections.abc import Mapping, Sequence

from care_planner.calendar.text import one_line
from care_planner.collection.tree import Tree
from care_planner.rulebook.pack import Rulebook
from care_planner.show.paper.blocks import Block, PaperSheet, head, text
from care_planner.show.pictures.draw_svg import paper_months, paper_picture, paper_row
from care_planner.show.pictures.tree_year import Picture

WIDTH = 500.0
ROW_WIDTH = 500.0
TREES_A_PAGE = 12
SIGNS = (
    "Dark: in flower most likely; pale: 8 years in 10 lie within. Green: growth. Dot: first flower of an "
    "earlier year. Open mark: work planned; full: done. Broken line: today."
)


def tree_sheet(tree: Tree, taxon: str, picture: Picture, site: str) -> PaperSheet:
    """One tree's season: the picture, its sentences, the dates as tables with boxes."""
    name = f" {one_line(tree.name)}" if tree.name else ""
    works = tuple((fact.when, fact.name, "", "") for fact in picture.table)
    blocks = (
        Block("picture", paper_picture(picture, WIDTH), picture.words),
        text(picture.words),
        text(SIGNS),
        head("Work"),
        Block("ticks", rows=works) if works else text("None."),
        head("Stages"),
        Block("table", rows=(("Stage", "When"), *((fact.name, fact.when) for fact in picture.stages))),
    )
    title = f"{tree.id}{name}: its year {picture.season}"
    return PaperSheet(
        f"tree-{tree.id}-{picture.season}", title, f"{site}, {taxon}, bench {tree.bench}", blocks
    )


def collection_sheet(
    trees: Sequence[Tree], pictures: Mapping[str, Picture], rulebook: Rulebook, site: str, season: int
) -> PaperSheet:
    """Who blooms when: a line a tree, so many to a page, in the order of their first flowers."""
    blocks: list[Block] = []
    ordered = sorted(trees, key=lambda tree: (_first_flower(pictures[tree.id]), tree.id))
    for number, tree in enumerate(ordered):
        if number % TREES_A_PAGE == 0:
            blocks += [Block("break")] if number else []
            blocks.append(Block("picture", paper_months(pictures[tree.id], ROW_WIDTH), "The months"))
        picture = pictures[tree.id]
        name = f" {one_line(tree.name)}" if tree.name else ""
        blocks.append(text(f"{tree.id}{name}, {rulebook.taxa[tree.taxon].title}, bench {tree.bench}"))
        blocks.append(Block("picture", paper_row(picture, ROW_WIDTH), picture.words))
    blocks.append(text(SIGNS))
    return PaperSheet(f"year-{season}", f"The year {season}", site, tuple(blocks))


def _first_flower(picture: Picture) -> float:
    return picture.bloom.likely[0][0] if picture.bloom is not None else 101.0
