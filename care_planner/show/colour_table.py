"""One tree's colour table as cells of words: a row a branch, for the page and for paper. Pure."""

from collections.abc import Collection as Names
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from care_planner.collection.model import Collection
from care_planner.colours.ledger import ledgers
from care_planner.colours.ledger_rows import LedgerRow, TreeLedger
from care_planner.colours.lineage import Batch
from care_planner.journal.model import Entry
from care_planner.rulebook.forms import Forms
from care_planner.rulebook.pack import Rulebook
from care_planner.show.colour_words import (
    PLAIN,
    advice_words,
    gives_words,
    lightest_words,
    names,
    not_swapped,
    seen_words,
    title,
    to_do_words,
    variety_words,
)

SEASONS_SHOWN = 4
HOW_SURE = (
    "sure: true in 98 of 100 or more; likely: in half or more; perhaps: less; hardly: less than one in 20"
)


@dataclass(frozen=True, slots=True)
class BranchCells:
    """A branch: how deep it hangs on others, what was seen (newest first), what it gives, what to do."""

    id: str
    depth: int
    seen: tuple[str, ...]
    gives: str
    to_do: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BatchCells:
    """A batch of cuttings, how many it began with, and what is known of it in words."""

    id: str
    count: int
    words: str


@dataclass(frozen=True, slots=True)
class ColourTable:
    """A tree's flowers by branch. `stay` are the branches that a prune must leave, a sentence each."""

    lightest: str
    rows: tuple[BranchCells, ...]
    stay: tuple[str, ...]
    check: tuple[str, ...]
    look_at: str
    told: tuple[str, ...]
    letters: str
    batches: tuple[BatchCells, ...]


def colour_tables(
    collection: Collection,
    entries: Iterable[Entry],
    rulebook: Rulebook,
    today: int,
    only: Names[str] | None = None,
) -> dict[str, ColourTable]:
    """The tables by tree, of these trees alone with `only`, as the notes up to `today` (an ordinal) say; of
    trees of which nothing is noted there is none."""
    found = ledgers(collection, entries, rulebook, today, only)
    return {one.tree: colour_table(one, ledger.forms) for ledger in found for one in ledger.trees}


def colour_table(one: TreeLedger, forms: Forms) -> ColourTable:
    """The table of a tree's ledger."""
    rows = tuple(_cells(one, row, forms) for row in one.branches)
    plants = (
        f"Batch {row.batch.id}, {advice_words(advice, one, forms, PLAIN)}"
        for row in one.batches
        for advice in row.advice
        if advice.plant
    )
    return ColourTable(
        lightest_words(one, forms),
        rows,
        tuple(_stay(one, forms)),
        tuple(_check(one)),
        names(one.to_tag),
        (*(f"{line[0].upper()}{line[1:]}" for line in variety_words(one, forms, PLAIN)), *plants),
        _letters(one, forms),
        tuple(_batch(row.batch) for row in one.batches),
    )


def _batch(batch: Batch) -> BatchCells:
    states = ((batch.rooted, "rooted"), (batch.potted, "potted on"), (batch.dead or None, "dead"))
    told = "".join(f", {number} {word}" for number, word in states if number is not None)
    return BatchCells(batch.id, batch.count, f"{batch.count} of {batch.branch}, taken in {batch.taken}{told}")


def _cells(one: TreeLedger, row: LedgerRow, forms: Forms) -> BranchCells:
    newest = sorted(row.seen, key=lambda seen: -seen.season)[:SEASONS_SHOWN]
    seen = tuple(f"{at.season}: {seen_words(at, row, forms)}" for at in newest)
    return BranchCells(
        row.id, row.depth, seen, gives_words(row, forms, PLAIN), tuple(to_do_words(one, row, PLAIN))
    )


def _stay(one: TreeLedger, forms: Forms) -> Iterator[str]:
    """`left-1: the only one that is sure to give white ground`, in plain words."""
    for keep in one.keeps:
        form = title(forms, keep.form)
        if len(keep.branches) == 1:
            yield f"{keep.branches[0]}, for {form}"
        else:
            yield f"one of {names(keep.branches)}, for {form}"


def _check(one: TreeLedger) -> Iterator[str]:
    for swap in one.swaps:
        yield f"{names(swap.branches)} in {swap.season}: their tags look exchanged"
    for doubt in not_swapped(one):
        darker = "lighter" if doubt.is_lighter else "darker"
        yield f"{doubt.owner[0]} in {doubt.season}: {darker} than the rest says"


def _letters(one: TreeLedger, forms: Forms) -> str:
    """`W white ground, S striped`: the letters that the table uses, lightest first."""
    used: Sequence[int] = sorted(
        {form for row in one.branches for seen in row.seen for form, n in enumerate(seen.counts) if n}
    )
    return ", ".join(f"{forms.letters[form]} {title(forms, form)}" for form in used)
