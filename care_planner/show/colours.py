"""Which branch bore which flower, what it can still give and what to do, as tables of 80 columns."""

from collections.abc import Iterator, Sequence
from itertools import zip_longest
from textwrap import wrap

from care_planner.colours.ledger import TaxonLedger, is_there, ledgers
from care_planner.colours.ledger_rows import BatchRow, TreeLedger, totals
from care_planner.folder.read_folder import Inputs
from care_planner.problems import Problem, ProblemsFound, did_you_mean
from care_planner.rulebook.forms import Forms
from care_planner.show.colour_words import (
    PLAIN,
    Style,
    advice_words,
    count,
    gives_words,
    lightest_words,
    names,
    not_swapped,
    percent,
    seen_words,
    span_words,
    title,
    to_do_words,
    variety_words,
)
from care_planner.show.wrapping import COLUMNS, wrapped

MOST_TABLES = 10  # trees of which the tables are printed without being asked for
GIVES, TO_DO, NAME, SEASON = 20, 21, 16, 11  # widest or least columns of a table
BETWEEN = "  "

NOTHING = (
    "No branches, flowers or cuttings are noted yet. Tie a tag to each branch in bloom and note what it "
    "shows: care-planner note FOLDER TREE/left-1 'grows from trunk', then care-planner note FOLDER "
    "TREE/left-1 'flowers \"white ground 12, striped 3\"'"
)
PASSPORT = (
    "Plants or cuttings that are sold, given away or cross a border may need a plant passport or a health "
    "certificate: ask the plant-health authority first."
)
UNKNOWABLE = (
    "A branch that every year shows few flowers of its lightest form looks like a darker one: no count of "
    "flowers can tell them apart. Before the last of its kind is cut, look at all of its flowers."
)


def colour_lines(inputs: Inputs, tree: str | None, today: int, style: Style = PLAIN) -> Iterator[str]:
    """One line for all trees, then a table a tree; for many trees a line each, unless one is named.

    Raises ProblemsFound where there is no such tree.
    """
    known = {one.id: one for one in inputs.collection.trees}
    if tree is not None and tree not in known:
        raise ProblemsFound([Problem("TREE", 0, f"unknown tree '{tree}'", did_you_mean(tree, known))])
    only = None if tree is None else (tree,)
    found = ledgers(inputs.collection, inputs.entries, inputs.rulebook, today, only)
    if tree is not None and not is_there(known[tree], today):
        until = known[tree].until
        assert until is not None
        yield from wrapped(f"{tree} left on {until.date} ({until.why}): its notes stay as history")
        return
    if not found:
        yield from wrapped(NOTHING)
        return
    shown = [one for ledger in found for one in ledger.trees]
    if tree is None:
        yield from _totals(shown)
    as_lines = len(shown) > MOST_TABLES
    for ledger in found:
        if as_lines:
            yield ""
            for one in ledger.trees:
                yield from wrapped(f"{one.tree}: {summary_words(one, ledger.forms)}", "", "  ")
        else:
            for one in ledger.trees:
                yield ""
                yield from tree_lines(one, ledger.forms, style)
            yield ""
            yield from legend(ledger.forms, ledger.trees, style)
        yield from learnt_lines(ledger, style)
    if as_lines:
        yield from wrapped("The table of one tree: care-planner colours FOLDER TREE")
    if any(one.to_give_away for one in shown):
        yield from wrapped(PASSPORT)


def _totals(trees: Sequence[TreeLedger]) -> Iterator[str]:
    held = totals(trees)
    counts = (
        (held.must_stay, "branch", "must stay"),
        (held.doubts, "doubtful note", "to check"),
        (held.to_look_at, "branch", "to look at in bloom"),
        (held.to_give_away, "plant", "to give away"),
    )
    parts = ", ".join(f"{count(number, what)} {rest}" for number, what, rest in counts if number)
    yield from wrapped(
        f"{count(held.trees, 'tree')} with {count(held.branches, 'tag')}: {parts or 'all noted'}"
    )


def summary_words(one: TreeLedger, forms: Forms) -> str:
    """A tree in one line: `white ground sure; KEEP left-1; CHECK left-2 2025`."""
    parts = [lightest_words(one, forms)]
    alone = [keep.branches[0] for keep in one.keeps if len(keep.branches) == 1]
    if alone:
        parts.append(f"KEEP {names(alone)}")
    parts += [f"KEEP ONE of {names(keep.branches)}" for keep in one.keeps if len(keep.branches) > 1]
    checks = [*(f"{' and '.join(swap.branches)} {swap.season}" for swap in one.swaps)]
    checks += [f"{doubt.owner[0]} {doubt.season}" for doubt in not_swapped(one)]
    if checks:
        parts.append(f"CHECK {names(checks, 3)}")
    if one.to_give_away:
        parts.append(f"{count(len(one.to_give_away), 'plant')} to give away")
    return "; ".join(parts)


def tree_lines(one: TreeLedger, forms: Forms, style: Style) -> Iterator[str]:
    """One tree's table, and what stands below it."""
    yield from wrapped(f"{one.tree}: {lightest_words(one, forms)}")
    yield from _table(one, forms, style)
    for row in one.branches:
        for photo in row.branch.photos:
            yield from wrapped(f"photo of {row.id}: {photo}", "  ", "    ")
    if one.to_tag:
        yield from wrapped(
            f"look at in bloom {one.season}, the least known first: {names(one.to_tag)}", "  ", "    "
        )
    for line in variety_words(one, forms, style):
        yield from wrapped(line, "  ", "    ")
    for batch in one.batches:
        yield from batch_lines(one, batch, forms, style)


def _table(one: TreeLedger, forms: Forms, style: Style) -> Iterator[str]:
    names_of = ["  " * row.depth + row.id for row in one.branches]
    name = min(NAME, max(len("branch"), *map(len, names_of)))
    noted = sorted({seen.season for row in one.branches for seen in row.seen})
    cells = {(row.id, seen.season): seen_words(seen, row, forms) for row in one.branches for seen in row.seen}
    widths = {
        s: min(SEASON, max(4, *(len(text) for (_, at), text in cells.items() if at == s))) for s in noted
    }
    seasons = _that_fit(noted, widths, COLUMNS - name - GIVES - TO_DO - 2 * len(BETWEEN))
    used = name + sum(widths[s] + len(BETWEEN) for s in seasons) + GIVES + 2 * len(BETWEEN)
    columns = [name, *(widths[s] for s in seasons), GIVES, COLUMNS - used]
    yield from _row(["branch", *map(str, seasons), "still gives", "what to do"], columns)
    for row, indented in zip(one.branches, names_of, strict=True):
        seen = [cells.get((row.id, season), "") for season in seasons]
        to_do = "; ".join(to_do_words(one, row, style))
        yield from _row([indented, *seen, gives_words(row, forms, style), to_do], columns)
    if len(seasons) < len(noted):
        hidden = noted[: len(noted) - len(seasons)]
        yield from wrapped(f"also noted, and counted: {names(list(map(str, hidden)))}", "  ", "    ")


def _that_fit(noted: Sequence[int], widths: dict[int, int], room: int) -> list[int]:
    """The last seasons that there is room for."""
    found: list[int] = []
    for season in reversed(noted):
        room -= widths[season] + len(BETWEEN)
        if room < 0:
            break
        found.insert(0, season)
    return found


def _row(cells: Sequence[str], columns: Sequence[int]) -> Iterator[str]:
    """One row, each cell in as many lines as it needs."""
    indent = " " * (len(cells[0]) - len(cells[0].lstrip()))
    parts = [
        wrap(cell, width, subsequent_indent=indent if not place else "", break_long_words=True)
        for place, (cell, width) in enumerate(zip(cells, columns, strict=True))
    ]
    if indent and parts[0]:
        parts[0] = wrap(cells[0].strip(), columns[0], initial_indent=indent, subsequent_indent=indent)
    for line in zip_longest(*parts, fillvalue=""):
        yield BETWEEN.join(text.ljust(width) for text, width in zip(line, columns, strict=True)).rstrip()


def batch_lines(one: TreeLedger, row: BatchRow, forms: Forms, style: Style) -> Iterator[str]:
    """A batch and what to do with its plants."""
    batch = row.batch
    states = ((batch.rooted, "rooted"), (batch.potted, "potted on"), (batch.dead or None, "dead"))
    told = "".join(f", {number} {word}" for number, word in states if number is not None)
    yield from wrapped(
        f"batch {batch.id}: {batch.count} of {batch.branch}, taken in {batch.taken}{told}", "  ", "    "
    )
    if row.to_look_at:
        yield from wrapped(
            f"look at their first flowers in {one.season}: {row.unseen} not yet seen", "    ", "      "
        )
    doubts = {doubt.owner[1]: doubt for doubt in row.doubts}
    for advice in row.advice:
        if advice.plant:
            doubt = doubts.get(advice.plant)
            yield from wrapped(advice_words(advice, one, forms, style, doubt), "    ", "      ")


def legend(forms: Forms, trees: Sequence[TreeLedger], style: Style) -> Iterator[str]:
    """The letters used, and the signs."""
    used = {f for one in trees for row in one.branches for s in row.seen for f, n in enumerate(s.counts) if n}
    parts = []
    for form, letter in enumerate(forms.letters):
        if form in used:
            terms = ", ".join(term.term for term in forms.ladder[form].japanese)
            parts.append(f"{letter} {title(forms, form)}{f' ({terms})' if style.terms and terms else ''}")
    if parts:
        yield from wrapped(f"letters, lightest first: {', '.join(parts)}; the number: about how many flowers")
    signs = []
    if any(row.is_doubtful for one in trees for row in one.branches):
        signs.append("? doubtful")
    if any(seen.in_full_sun for one in trees for row in one.branches for seen in row.seen):
        signs.append("( ) seen in full sun, half believed")
    if signs:
        yield from wrapped("; ".join(signs))
    yield from wrapped(
        "sure: true in 98 of 100 or more; likely: in half or more; perhaps: less; hardly: less than one in 20"
    )


def learnt_lines(ledger: TaxonLedger, style: Style) -> Iterator[str]:
    """What was learnt of all trees of a taxon, and on how little it rests."""
    held = ledger.learnt
    rests = f"{count(held.notes, 'note')} of {count(held.flowers, 'flower')}"
    if not style.numbers:
        yield from wrapped(f"{ledger.title}: this rests on {rests}. {UNKNOWABLE}")
        return
    yield from wrapped(
        f"{ledger.title}: in a year of growth a branch's wood darkens with a chance of "
        f"{span_words(held.darken)} and goes back with one of {span_words(held.back)}; "
        f"{percent(held.shows)} of its flowers show its own form on average; {percent(held.mistakes)} of the "
        f"notes are taken to be of other wood. This rests on {rests} and on wide starting beliefs; no such "
        f"number has been published. {UNKNOWABLE}"
    )
