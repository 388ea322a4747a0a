"""Words of the colour ledger that table, plan and page can share."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from care_planner.colours.belief import Doubt
from care_planner.colours.cuttings import Advice
from care_planner.colours.decisions import LIKELY, Keep
from care_planner.colours.ledger import ChanceSpan, LearntRates
from care_planner.colours.ledger_rows import LedgerRow, Seen, TreeLedger, level
from care_planner.colours.swaps import Swap
from care_planner.rulebook.forms import Forms

CLEARLY = 0.1  # a darker form is told of where it is likelier by this


@dataclass(frozen=True)
class Style:
    """What a reader asked to see."""

    numbers: bool = False
    terms: bool = False


PLAIN = Style()


def lightest_words(one: TreeLedger, forms: Forms) -> str:
    """The lightest form that is likely on a branch seen in flower."""
    if one.lightest is None:
        return "not yet seen in flower"
    form, chance = one.lightest
    doubted = ""
    if one.doubted_form is not None:
        doubted = f" ({title(forms, one.doubted_form)} was noted, but is doubtful)"
    return f"{title(forms, form)} {level(chance)}{doubted}"


def not_swapped(one: TreeLedger) -> list[Doubt]:
    """The doubtful notes that no exchange of tags explains."""
    told = {(swap.season, id) for swap in one.swaps for id in swap.branches}
    return [doubt for doubt in one.doubts if doubt.owner[1] or (doubt.season, doubt.owner[0]) not in told]


def seen_words(seen: Seen, row: LedgerRow, forms: Forms) -> str:
    """`W12 S3`, with `?` where it is doubtful, in brackets where it was seen in full sun."""
    letters = forms.letters
    said = " ".join(f"{letters[form]}{number}" for form, number in enumerate(seen.counts) if number)
    swapped = any(swap.season == seen.season for swap in row.swaps)
    said += "?" if seen.doubt is not None or swapped else ""
    return f"({said})" if seen.in_full_sun else said


def gives_words(row: LedgerRow, forms: Forms, style: Style) -> str:
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


def to_do_words(one: TreeLedger, row: LedgerRow, style: Style) -> Iterator[str]:
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


def place_words(row: LedgerRow) -> str:
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


def learnt_words(held: LearntRates) -> str:
    """How cuttings root, in a sentence."""
    return f"Of cuttings {percent(held.roots)} root (two of three to start with: common practice, no source)."


def span_words(span: ChanceSpan) -> str:
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
