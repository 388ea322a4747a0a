"""Which branch bore which flower, what it can still give and what to do, as tables of 80 columns."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from textwrap import wrap

from care_planner.colours.belief import Doubt
from care_planner.colours.cuttings import Advice
from care_planner.colours.decisions import LIKELY, Keep
from care_planner.colours.facts import BatchRow, BranchRow, Seen, TreeLedger, level, totals
from care_planner.colours.ledger import Learnt, Span, TaxonLedger, is_there, ledgers
from care_planner.colours.swaps import Swap
from care_planner.folder.read_folder import Inputs
from care_planner.problems import Problem, ProblemsFound, did_you_mean
from care_planner.rulebook.forms import Forms
from care_planner.show.plan import COLUMNS, wrapped

MOST_TABLES = 10  # trees of which the tables are printed without being asked for
GIVES, TO_DO, NAME, SEASON = 20, 21, 16, 11  # widest or least columns of a table
BETWEEN = "  "
CLEARLY = 0.1  # a darker form is told of where it is likelier by this

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


@dataclass(frozen=True)
class Style:
    """What a reader asked to see."""

    numbers: bool = False
    terms: bool = False


PLAIN = Style()


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
    checks += [f"{doubt.owner[0]} {doubt.season}" for doubt in _not_swapped(one)]
    if checks:
        parts.append(f"CHECK {names(checks, 3)}")
    if one.to_give_away:
        parts.append(f"{count(len(one.to_give_away), 'plant')} to give away")
    return "; ".join(parts)


def lightest_words(one: TreeLedger, forms: Forms) -> str:
    """The lightest form that is likely on a branch seen in flower."""
    if one.lightest is None:
        return "not yet seen in flower"
    form, chance = one.lightest
    doubted = ""
    if one.doubted_form is not None:
        doubted = f" ({title(forms, one.doubted_form)} was noted, but is doubtful)"
    return f"{title(forms, form)} {level(chance)}{doubted}"


def _not_swapped(one: TreeLedger) -> list[Doubt]:
    """The doubtful notes that no exchange of tags explains."""
    told = {(swap.season, id) for swap in one.swaps for id in swap.branches}
    return [doubt for doubt in one.doubts if doubt.owner[1] or (doubt.season, doubt.owner[0]) not in told]


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


def seen_words(seen: Seen, row: BranchRow, forms: Forms) -> str:
    """`W12 S3`, with `?` where it is doubtful, in brackets where it was seen in full sun."""
    letters = forms.letters
    said = " ".join(f"{letters[form]}{number}" for form, number in enumerate(seen.counts) if number)
    swapped = any(swap.season == seen.season for swap in row.swaps)
    said += "?" if seen.doubt is not None or swapped else ""
    return f"({said})" if seen.in_full_sun else said


def gives_words(row: BranchRow, forms: Forms, style: Style) -> str:
    """`white ground likely, striped sure`; with numbers `white ground likely 83%`."""
    if not row.is_there:
        return f"gone since {row.branch.lost}"
    said: list[str] = []
    last, told = "hardly", 0.0
    for form, chance in enumerate(row.gives):
        word = level(chance)
        if word == last or (said and chance < told + CLEARLY):
            continue
        if form == len(row.gives) - 1 and not said:
            said.append(
                f"{title(forms, form)} only"
                + (f" (lighter {percent(row.gives[-2])})" if style.numbers else "")
            )
            break
        is_darkest = form == len(row.gives) - 1
        number = f" {percent(chance)}" if style.numbers and not is_darkest else ""
        said.append(f"{title(forms, form)} {word}{number}")
        last, told = word, chance
        if word == "sure":
            break
    return ", ".join(said)


def to_do_words(one: TreeLedger, row: BranchRow, style: Style) -> Iterator[str]:
    """What to do with a branch, the most pressing first."""
    if not row.is_there:
        return
    if row.keep is not None:
        yield keep_words(row.keep, row.is_doubtful, style)
    for swap in row.swaps:
        yield swap_words(swap, row.id)
    told = {swap.season for swap in row.swaps}
    for seen in row.seen:
        if seen.doubt is not None and seen.season not in told:
            yield doubt_words(seen.doubt, style)
    if not row.seen:
        yield "not yet seen: do not cut"
    if row.take is not None and row.take.count is not None:
        yield count(row.take.count, "cutting")
    if row.misplaced is not None:
        yield f"{'dark' if row.misplaced else 'light'} for {place_words(row)}"


def keep_words(keep: Keep, is_doubtful: bool, style: Style) -> str:
    """`KEEP`, `KEEP ONE of left-1 and left-2`."""
    said = "KEEP" if len(keep.branches) == 1 else f"KEEP ONE of {names(keep.branches)}"
    number = f" {percent(keep.chance)}" if style.numbers else ""
    return f"{said}{number}{', in doubt' if is_doubtful else ''}"


def swap_words(swap: Swap, id: str) -> str:
    """What to check of one of two branches."""
    other = next(branch for branch in swap.branches if branch != id)
    return f"CHECK {swap.season}: looks like {other}'s tag"


def doubt_words(doubt: Doubt, style: Style) -> str:
    """What to check of a note that no exchange explains."""
    number = f" (wrong: {percent(doubt.chance)})" if style.numbers else ""
    return f"CHECK {doubt.season}: {'lighter' if doubt.is_lighter else 'darker'} than the rest says{number}"


def place_words(row: BranchRow) -> str:
    """`low and inside`."""
    return " and ".join(filter(None, (row.branch.height, row.branch.depth)))


def variety_words(one: TreeLedger, forms: Forms, style: Style) -> Iterator[str]:
    """Whether the tree can carry its variety's name."""
    found = one.worth
    if found is None:
        return
    form = title(forms, found.form)
    missing = ", ".join(title(forms, rung) for rung in found.missing)
    if found.chance is None:
        yield f"variety: not yet seen in flower, so nothing is known of {form}, its lightest form"
        return
    number = f" {percent(found.chance)}" if style.numbers else ""
    says = "it can carry the name" if found.carries_the_name else "it should not carry the variety's name"
    yield f"variety: {form}, its lightest form, {level(found.chance)}{number}: {says}"
    if missing:
        yield f"of its variety not yet seen: {missing}"


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


def advice_words(
    advice: Advice, one: TreeLedger, forms: Forms, style: Style, doubt: Doubt | None = None
) -> str:
    """`plant 3: give away, without the variety's name: hardly white ground, by 4 flowers`."""
    form = title(forms, advice.form)
    nameless = one.worth is not None and advice.chance < LIKELY
    name = ", without the variety's name" if nameless and advice.what == "give away" else ""
    number = f" {percent(advice.chance)}" if style.numbers else ""
    check = f"; {doubt_words(doubt, style)}" if doubt is not None else ""
    said = f"{form} {level(advice.chance)}{number}, by {count(advice.flowers, 'flower')}"
    return f"plant {advice.plant}: {advice.what}{name}: {said}{check}"


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
        f"{ledger.title}: in a year of growth a branch's wood darkens with a chance of {_span(held.darken)} "
        f"and goes back with one of {_span(held.back)}; {percent(held.shows)} of its flowers show its own "
        f"form on average; {percent(held.mistakes)} of the notes are taken to be of other wood. This "
        f"rests on {rests} and on wide starting beliefs; no such number has been published. {UNKNOWABLE}"
    )


def learnt_words(held: Learnt) -> str:
    """How cuttings root, in a sentence."""
    return f"Of cuttings {percent(held.roots)} root (two of three to start with: common practice, no source)."


def _span(span: Span) -> str:
    return f"{percent(span.middle)} (80%: {percent(span.low)} to {percent(span.high)})"


def percent(chance: float) -> str:
    """`93%`, `4.8%`, `0.27%`."""
    return f"{chance:.0%}" if chance >= 0.1 else f"{100 * chance:.2g}%"


def title(forms: Forms, form: int) -> str:
    """A form's title within a sentence."""
    return forms.ladder[form].title.lower()


def count(number: int, what: str) -> str:
    """`1 branch`, `2 branches`."""
    if number == 1:
        return f"1 {what}"
    return f"{number} {what}{'es' if what.endswith('ch') else 's'}"


def names(held: Sequence[str], most: int = 12) -> str:
    """`a, b and c`, or the first of many and how many more."""
    if len(held) > most:
        return f"{', '.join(held[:most])} and {len(held) - most} more"
    return " and ".join(filter(None, (", ".join(held[:-1]), held[-1]))) if held else ""
