"""Cuttings to take, batches to look at, and what to do with young plants, as text of 80 columns."""

from collections.abc import Iterator

from care_planner.colours.cuttings import Take
from care_planner.colours.decisions import LIKELY
from care_planner.colours.ledger import ledgers
from care_planner.colours.ledger_rows import TreeLedger, level
from care_planner.folder.read_folder import Inputs
from care_planner.rulebook.forms import Forms
from care_planner.show.colour_words import PLAIN, Style, count, learnt_words, percent, title
from care_planner.show.colours import NOTHING, PASSPORT, batch_lines, learnt_lines
from care_planner.show.wrapping import wrapped


def cutting_lines(
    inputs: Inputs, wanted: int, risk: float | None, today: int, style: Style = PLAIN
) -> Iterator[str]:
    """What to take so that `wanted` young plants keep the range but for `risk`; what to do with batches."""
    accepted = inputs.collection.risk.colours if risk is None else risk
    found = ledgers(inputs.collection, inputs.entries, inputs.rulebook, today, None, wanted, accepted)
    if not found:
        yield from wrapped(NOTHING)
        return
    given_away = False
    for ledger in found:
        for one in ledger.trees:
            given_away |= bool(one.to_give_away)
            yield one.tree
            yield from take_lines(one, wanted, ledger.forms, style)
            for row in one.batches:
                yield from batch_lines(one, row, ledger.forms, style)
            yield ""
        yield from wrapped(f"{learnt_words(ledger.learnt)} Accepted risk {percent(accepted)}.")
        yield from learnt_lines(ledger, style)
    if given_away:
        yield from wrapped(PASSPORT)


def take_lines(one: TreeLedger, wanted: int, forms: Forms, style: Style) -> Iterator[str]:
    """Which branches to take cuttings of, or what to do first."""
    if not one.takes:
        yield from wrapped(
            "no flowers noted: tag the branches in bloom before cuttings are taken", "  ", "    "
        )
    for take in one.takes:
        words = take_words(take, wanted, forms, style, one.is_doubtful(take.branch))
        yield from wrapped(words, "  ", "    ")


def take_words(take: Take, wanted: int, forms: Forms, style: Style, is_doubtful: bool) -> str:
    """`take 3 cuttings of left-1 for 1 plant that can still give white ground`; or what to do before."""
    form = title(forms, take.form)
    plants = count(wanted, "plant")
    chance = percent(take.chance) if style.numbers else level(take.chance)
    doubt = "; a note of it is doubtful: see colours" if is_doubtful else ""
    if take.chance < LIKELY:
        return f"{take.branch}: not for cuttings; one keeps {form}: {chance}{doubt}"
    if take.roots_too_seldom:
        return (
            f"{take.branch}: one keeps {form}: {chance}, but so few of your cuttings rooted that more would "
            f"be needed than anyone takes. First find out why they failed{doubt}"
        )
    if take.count is None:
        reached = f", with as many as one can take {percent(take.reached)}" if style.numbers else ""
        return (
            f"{take.branch}: no cuttings yet. One keeps {form}: {chance}{reached}. First look at the branch "
            f"in its next bloom and tag it shoot by shoot{doubt}"
        )
    return (
        f"take {count(take.count, 'cutting')} of {take.branch} for {plants} that can still give {form} "
        f"(one keeps it: {chance}){doubt}"
    )
