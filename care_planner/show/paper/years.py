"""A tree's year and the whole collection's, with their pictures. Pure."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from care_planner.calendar.text import one_line
from care_planner.collection.tree import Tree
from care_planner.rulebook.pack import Rulebook
from care_planner.show.colour_table import HOW_SURE, ColourTable
from care_planner.show.paper.blocks import Block, PaperSheet, head, listed, text
from care_planner.show.pictures.draw_svg import paper_months, paper_picture, paper_row
from care_planner.show.pictures.drawn import DrawnFact, Picture
from care_planner.words.names import bench_words, own_name

WIDTH = 500.0
ROW_WIDTH = 500.0
TREES_A_PAGE = 12
INDENT = "\u2003"  # an em wide
TO_WRITE = "\u2003" * 8  # room for a pencil
SIGNS = (
    "Dark: in flower most likely; pale: 8 years in 10 lie within. Green: growth. Dot: first flower of an "
    "earlier year. Open mark: work planned; full: done. Broken line: today."
)


@dataclass(frozen=True, slots=True)
class Photograph:
    """A JPEG, and what it shows."""

    data: bytes
    words: str


NO_PHOTOGRAPH = Photograph(b"", "")


def tree_sheet(
    tree: Tree,
    taxon: str,
    picture: Picture,
    site: str,
    colours: ColourTable | None = None,
    photo: Photograph = NO_PHOTOGRAPH,
) -> PaperSheet:
    """One tree's season on a page: the picture, its sentences, the dates with boxes, its newest photograph;
    then its flowers by branch."""
    name = f" {one_line(told)}" if (told := own_name(tree.id, tree.name)) else ""
    works = tuple((_when(fact), fact.name) for fact in picture.table if not fact.in_passing)
    passing = "; ".join(f"{fact.name} {_when(fact)}" for fact in picture.table if fact.in_passing)
    stages = (("Stage", "When"), *((fact.name, fact.when) for fact in picture.stages))
    blocks = (
        Block("picture", paper_picture(picture, WIDTH), picture.words),
        text(picture.words),
        text(SIGNS),
        head("Work"),
        Block("ticks", rows=works) if works else text("None."),
        *([head("In passing, and as the weather turns"), text(f"{passing}.")] if passing else []),
        head("Stages"),
        Block("table", words=photo.words, rows=stages, photo=photo.data),
        *(_colour_blocks(colours, picture.season) if colours is not None else ()),
    )
    title = f"{tree.id}{name}: its year {picture.season}"
    return PaperSheet(
        f"tree-{tree.id}-{picture.season}",
        title,
        f"{site}, {taxon}, {bench_words(tree.bench)}",
        blocks,
        small=True,
    )


def _when(fact: DrawnFact) -> str:
    """Beside a box to tick a bare day is one to come."""
    return fact.when.removeprefix("planned ")


def _colour_blocks(colours: ColourTable, season: int) -> Iterator[Block]:
    """Flowers by branch, with a column to write this season's into at the tree."""
    yield head("Flowers by branch")
    yield text(f"Its lightest: {colours.lightest}.")
    if colours.stay:
        yield text("Must stay when it is pruned:", strong=True)
        yield listed(colours.stay, strong=True)
    if colours.check:
        yield text("To check in bloom:")
        yield listed(colours.check)
    rows = (
        (f"{INDENT * row.depth}{row.id}", "; ".join(row.seen), TO_WRITE, row.gives, "; ".join(row.to_do))
        for row in colours.rows
    )
    heads = ("Branch", "Seen", f"{season}{TO_WRITE}", "Still gives", "What to do")
    yield Block("table", rows=(heads, *rows))
    for line in colours.told:
        yield text(f"{line}.")
    if colours.letters:
        yield text(f"{colours.letters}; the number: about how many flowers.")
        yield text(f"{HOW_SURE[0].upper()}{HOW_SURE[1:]}.")


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
        name = f" {one_line(told)}" if (told := own_name(tree.id, tree.name)) else ""
        blocks.append(text(f"{tree.id}{name}, {rulebook.taxa[tree.taxon].title}, {bench_words(tree.bench)}"))
        blocks.append(Block("picture", paper_row(picture, ROW_WIDTH), picture.words))
    blocks.append(text(SIGNS))
    return PaperSheet(f"year-{season}", f"The year {season}", site, tuple(blocks))


def _first_flower(picture: Picture) -> float:
    return picture.bloom.likely[0][0] if picture.bloom is not None else 101.0
