"""Trees and a show, for a terminal of 80 columns: the chance, the levers, what each may cost."""

from collections.abc import Iterator, Sequence

from care_planner.outlook.shows.bloom import HOPELESS, ShowBloom, Tried
from care_planner.outlook.shows.forbidden import forbidden_works
from care_planner.rulebook.pack import Rulebook
from care_planner.show.plan import wrapped
from care_planner.words.days import day_words, short_day

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
    "From colour on: shade and 10 to 15 degC hold it for days, not weeks (3 to 10, common practice). Nothing "
    "stops an open flower; 5 degC for up to 6 days is the most a source supports ('Gloria', in transport). "
    "Be there a day or two before. Try a lever on one plant first."
)


def show_lines(blooms: Sequence[ShowBloom], taxa: dict[str, str], rulebook: Rulebook) -> Iterator[str]:
    """A block a tree."""
    for bloom in blooms:
        yield ""
        yield from wrapped(f"{bloom.tree}: {_chance(bloom)}")
        if bloom.tried:
            lever = _LEVERS[bloom.tried[0].lever]
            yield from wrapped(f"Lever: {lever}. Its effect is computed, not tried:", "  ", "    ")
        for tried in bloom.tried:
            yield from wrapped(_tried(tried), "    ", "      ")
        if bloom.tried:
            yield from wrapped(f"It {_COSTS[bloom.tried[0].lever]}.", "  ", "    ")
        works = ", ".join(forbidden_works(rulebook.taxa[taxa[bloom.tree]]))
        if bloom.why_not not in ("passed", "no-flowers") and works:
            held = f"Not before the show: {works}. From its season on the plan holds that."
            yield from wrapped(held, "  ", "    ")
    if any(bloom.chance is not None and bloom.why_not is None for bloom in blooms):
        yield ""
        yield from wrapped(AFTER_COLOUR)


def _chance(bloom: ShowBloom) -> str:
    if bloom.chance is None:
        return _WHY_NOT[bloom.why_not or "unknown"]
    chance = bloom.chance
    low, middle, high = chance.third_open
    words = (
        f"a third to a half open on {day_words(bloom.day)} in {chance.wanted:.0%} of futures; too early in "
        f"{chance.early:.0%}, past it in {chance.late:.0%}. A third is open on {short_day(middle)} "
        f"({short_day(low)} to {short_day(high)})"
    )
    if bloom.why_not is not None:
        return f"{words}. But {_WHY_NOT[bloom.why_not]}"
    if bloom.best < HOPELESS:
        words += ". By what is reckoned it is hopeless: choose another tree"
    return words


def _tried(tried: Tried) -> str:
    low, middle, high = (f"{days:+.0f}" for days in tried.moves)
    return (
        f"{tried.days} days from {short_day(tried.start)}: {middle} days ({low} to {high}), then "
        f"{tried.chance.wanted:.0%}"
    )
