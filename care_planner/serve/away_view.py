"""The sheet for whoever waters, as the Work page shows it while everyone is away."""

from care_planner.serve.asking import Asking, ShownState, Values
from care_planner.show.paper.away import (
    HOW_OFTEN,
    HOW_TO_TELL,
    NEVER,
    NO_ORDERS,
    POISON,
    away_facts,
    never_words,
    order_words,
    twice_words,
)
from care_planner.words.days import day_words

LONGEST_AWAY_DAYS = 60


def away_view(asking: Asking, state: ShownState) -> Values | None:
    """The sheet for whoever waters, while everyone is away."""
    people, today = state.inputs.collection.people, asking.today.toordinal()
    if not people.is_away(today):
        return None
    last = today
    while people.is_away(last + 1) and last - today < LONGEST_AWAY_DAYS:
        last += 1
    inputs = state.inputs
    found = away_facts(
        state.plan, inputs.collection, inputs.rulebook, state.entries, today, last, state.trees
    )
    return {
        "days": f"until {day_words(last)}",
        "benches": [(b.bench, HOW_OFTEN[b.often], ", ".join(b.trees)) for b in found.benches],
        "tell": [*(HOW_TO_TELL[one] for one in sorted({b.often for b in found.benches})), twice_words(found)],
        "never": [*NEVER, *never_words(found)],
        "orders": [order_words(order) for order in found.orders] or [NO_ORDERS],
        "poison": POISON if found.poisonous else "",
    }
