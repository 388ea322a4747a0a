"""The trees of a collection resolved for a day, as the plan resolves them."""

from collections.abc import Iterable, Sequence

from care_planner.journal.model import Entry
from care_planner.plan import Basis
from care_planner.years.previous import NO_PREVIOUS, PreviousPlan
from care_planner.years.profiles import noted_trees, resolve_profile, twins
from care_planner.years.state import TreeYears


def resolved_trees(
    basis: Basis, entries: Iterable[Entry], previous: PreviousPlan = NO_PREVIOUS
) -> list[tuple[TreeYears, Sequence[str]]]:
    """Every tree's years with the names of the twins that share them. Published days stand."""
    shared = basis.with_empty_board()
    noted = noted_trees(basis.collection, entries, shared)
    learnt = basis.learn(noted)
    return [
        (resolve_profile(profile, basis.rulebook, shared), names)
        for profile, names in twins(noted, basis.today, previous, learnt)
    ]
