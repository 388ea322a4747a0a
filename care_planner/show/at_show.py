"""Trees and a show, for terminal and page: the chance, the levers, what each may cost."""

from collections.abc import Iterator, Sequence

from care_planner.collection.model import Collection
from care_planner.outlook.shows.bloom import HOPELESS, ShowBloom, Tried
from care_planner.outlook.shows.forbidden import forbidden_works
from care_planner.rulebook.pack import Rulebook, TaxonRules
from care_planner.show.passages import Passage
from care_planner.words.days import short_day, weekday_words

_LEVERS = {
    "warm-shelter": "to the shelter by night and in cold spells, out by day",
    "cold-store": "a cold place at 3 to 5 degC, frost-free, bright and moist, before any bud shows colour",
}
_COSTS = {
    "warm-shelter": "costs little: shoots grow longer and softer, so harden them before they stay out",
    "cold-store": (
        "costs next year: bloom and so the prune come later, into the weeks when buds are set; fewer flowers "
        "must be expected. Held satsuki bloomed 30 days after they came out into summer warmth (Mie 1995)"
    ),
}
_WHY_NOT = {
    "weak": "it is weak, so nothing is offered: a push costs it more than a year",
    "roots": "its roots are freshly worked, so nothing is offered this season",
    "no-flowers": "no bloom is expected this season",
    "passed": "the day has passed",
    "unknown": "its bloom cannot be told, for want of weather or of a bloom curve",
}
AFTER_COLOUR = (
    "Shade and 10 to 15 degC hold it for days, not weeks (3 to 10, common practice).",
    "Nothing stops an open flower; 5 degC for up to 6 days is the most a source supports ('Gloria', in "
    "transport).",
    "Bring the tree a day or two before. Try all of this on one plant first.",
)


def show_blocks(blooms: Sequence[ShowBloom], collection: Collection, rulebook: Rulebook) -> Iterator[Passage]:
    """The show, then a block a tree."""
    if not blooms:
        return
    yield Passage(
        f"{collection.site.name}: the show of {weekday_words(blooms[0].day)}. Wanted: a third to half of the "
        "flowers open on the day"
    )
    rules = {tree.id: rulebook.taxa[tree.taxon] for tree in collection.trees}
    for bloom in blooms:
        yield Passage(f"{bloom.tree}: {_chance(bloom)}", tuple(_lever_lines(bloom)))
    held = sorted({title for bloom in blooms for title in _held(rules[bloom.tree])})
    if held and blooms[0].why_not != "passed":
        lines = [f"{'; '.join(held)}."]
        if lost := [bloom.tree for bloom in blooms if _is_hopeless(bloom)]:
            lines.append(f"Take {', '.join(lost)} out of `show:`, and this work is planned again.")
        yield Passage("Not before the show, so the plan leaves it out", tuple(lines))
    if any(bloom.chance is not None and bloom.why_not is None for bloom in blooms):
        yield Passage("From colour on", AFTER_COLOUR)


def _lever_lines(bloom: ShowBloom) -> Iterator[str]:
    moving = [tried for tried in bloom.tried if any(round(days) for days in tried.moves)]
    if not moving:
        if bloom.coloured is not None:
            yield (
                "It cannot be held back any more: a cold place does that only before any bud shows colour, "
                f"about {short_day(bloom.coloured)}, and it would have to stay there longer."
            )
        return
    lever = moving[0].lever
    yield f"What could move it: {_LEVERS[lever]}. Computed, not tried:"
    for tried in moving:
        yield f"  {_tried(tried)}"
    yield f"It {_COSTS[lever]}."


def _held(rules: TaxonRules) -> list[str]:
    return [rules.rules[id].title for id in forbidden_works(rules)]


def _chance(bloom: ShowBloom) -> str:
    if bloom.chance is None:
        return _WHY_NOT[bloom.why_not or "unknown"]
    if bloom.why_not == "no-flowers":
        return _WHY_NOT["no-flowers"]
    chance = bloom.chance
    low, middle, high = chance.third_open
    words = (
        f"as wanted in {chance.wanted:.0%} of futures; too early in {chance.early:.0%}, past it in "
        f"{chance.late:.0%}. A third is open about {short_day(middle)} ({short_day(low)} to "
        f"{short_day(high)})"
    )
    if bloom.why_not is not None:
        return f"{words}. But {_WHY_NOT[bloom.why_not]}"
    if _is_hopeless(bloom):
        words += ". By what is reckoned it is hopeless: choose another tree"
    return words


def _is_hopeless(bloom: ShowBloom) -> bool:
    return bloom.chance is not None and bloom.why_not in (None, "weak", "roots") and bloom.best < HOPELESS


def _tried(tried: Tried) -> str:
    low, middle, high = (f"{days:+.0f}" for days in tried.moves)
    return (
        f"for {tried.days} days from {short_day(tried.start)}: {middle} days ({low} to {high}), "
        f"then as wanted in {tried.chance.wanted:.0%}"
    )
