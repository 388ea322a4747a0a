"""Cuttings to take, batches to look at, and what to do with young plants, as text of 80 columns."""

from collections.abc import Iterator

from care_planner.colours.belief import TreeBelief
from care_planner.colours.cuttings import Advice, Take, advise, rooting, to_look_at, to_take, unproven
from care_planner.colours.decisions import LIKELY
from care_planner.colours.flowers import Array
from care_planner.folder.read_folder import Inputs
from care_planner.rulebook.forms import Forms
from care_planner.show.colours import NOTHING, believed, forms_of, rate_lines
from care_planner.show.plan import wrapped
from care_planner.spans import is_south, season_of

PASSPORT = (
    "Plants or cuttings that are sold, given away or cross a border may need a plant passport or a health "
    "certificate: ask the plant-health authority first."
)


def cutting_lines(inputs: Inputs, wanted: int, risk: float, today: int) -> Iterator[str]:
    """What to take so that `wanted` young plants keep the range but for `risk`; what to do with batches."""
    season = season_of(today, is_south(inputs.collection.site.latitude))
    found = believed(inputs, today)
    given_away = False
    for taxon, (beliefs, rates) in found.items():
        forms = forms_of(inputs, taxon)
        lineages = [belief.lineage for belief in beliefs]
        roots = rooting(lineages)
        yield from rate_lines(lineages, rates, inputs.rulebook.taxa[taxon].title)
        yield from wrapped(
            f"Of cuttings, {roots[:, 0] @ roots[:, 1]:.0%} root (two of three to start with: common "
            f"practice, no source). Accepted risk {risk:.0%}."
        )
        for belief in beliefs:
            advice = advise(belief, risk)
            given_away |= any(one.what == "give away" for one in advice)
            yield ""
            yield belief.lineage.tree
            yield from _take_lines(belief, wanted, roots, risk, forms)
            yield from _batch_lines(belief, advice, forms, season)
    if not found:
        yield from wrapped(NOTHING)
    if given_away:
        yield ""
        yield from wrapped(PASSPORT)


def _take_lines(belief: TreeBelief, wanted: int, roots: Array, risk: float, forms: Forms) -> Iterator[str]:
    takes = to_take(belief, wanted, roots, risk)
    if not takes:
        yield "  no flowers noted: tag the branches in bloom before cuttings are taken"
    for take in takes:
        yield from wrapped(_take_words(take, wanted, forms), "  ", "    ")


def _take_words(take: Take, wanted: int, forms: Forms) -> str:
    form = forms.ladder[take.form].title.lower()
    plants = f"{wanted} plants" if wanted > 1 else "1 plant"
    one = f"one keeps {form} with a chance of {take.chance:.0%}"
    if take.count is None:
        return (
            f"{take.branch}: no number of cuttings gives {plants} with {form} at this risk (at most "
            f"{take.most:.0%}): {one}"
        )
    cuttings = f"{take.count} cuttings" if take.count > 1 else "1 cutting"
    return f"take {cuttings} of {take.branch} for {plants} that can still give {form}: {one}"


def _batch_lines(belief: TreeBelief, advice: list[Advice], forms: Forms, season: int) -> Iterator[str]:
    looked_at = {batch.id for batch in to_look_at(belief.lineage, season)}
    for batch in belief.lineage.batches.values():
        head = f"batch {batch.id}: {batch.count} of {batch.branch}, taken in {batch.taken}"
        states = ((batch.rooted, "rooted"), (batch.potted, "potted on"))
        told = "".join(f", {count} {word}" for count, word in states if count is not None)
        yield from wrapped(head + told, "  ", "    ")
        if batch.id in looked_at:
            look = f"look at the first flowers of batch {batch.id}: {unproven(batch)} not yet seen"
            yield from wrapped(look, "    ", "      ")
        for one in advice:
            if one.batch == batch.id:
                yield from wrapped(_advice_words(one, belief, forms), "    ", "      ")


def _advice_words(one: Advice, belief: TreeBelief, forms: Forms) -> str:
    form = forms.ladder[one.form].title.lower()
    if not one.plant:
        return f"the others: grow on, unproven until their first flower (each keeps {form}: {one.chance:.0%})"
    nameless = bool(belief.lineage.variety) and one.chance < LIKELY
    name = ", without the variety's name" if nameless else ""
    why = (
        f"keeps {form} with a chance of {one.chance:.0%}, from {one.flowers} flower{'s' * (one.flowers != 1)}"
    )
    return f"plant {one.plant}: {one.what}{name}: {why}"
