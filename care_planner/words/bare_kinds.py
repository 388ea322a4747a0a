"""Kinds of tree whose packs hold stages and no works yet."""

from collections.abc import Iterable

from care_planner.rulebook.pack import Rulebook


def no_works_words(taxon: str) -> str:
    """What a grower has to know of such a kind."""
    return (
        f"there are stages but no works for {taxon} yet: only what any tree in a pot needs is planned "
        "(water, shelter and frost, heat, repotting, weevils), no pruning, feeding or care of its flowers"
    )


def bare_kinds(taxa: Iterable[str], rulebook: Rulebook) -> list[str]:
    """A line for each of some kinds that has none."""
    known = (taxon for taxon in sorted(set(taxa)) if taxon in rulebook.taxa)
    return [no_works_words(taxon) for taxon in known if not rulebook.taxa[taxon].has_own_works]
