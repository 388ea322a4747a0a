"""What a show forbids: work on the roots, and work that takes the flowers off before it."""

from care_planner.collection.model import Collection
from care_planner.journal.model import Entry
from care_planner.rulebook.pack import Rulebook, TaxonRules
from care_planner.rulebook.rule import Rule
from care_planner.spans import is_south, season_of, season_start


def forbidden_works(rules: TaxonRules) -> tuple[str, ...]:
    """Rules of a taxon that a show forbids in its season: heavy root work, and what ends the bloom.

    A rescue that a sign calls for stays allowed: no show is worth the tree.
    """
    found = [
        rule.id
        for rule in rules.rules.values()
        if not _is_rescue(rule)
        and (
            (rule.heavy and rule.kind == "roots")
            or any(
                effect.ends_stage is not None or (effect.set is not None and effect.set.bloom == "none")
                for effect in rule.all_effects()
            )
        )
    ]
    return tuple(sorted(found))


def _is_rescue(rule: Rule) -> bool:
    return rule.opens is not None and rule.opens.sign is not None


def show_entries(collection: Collection, rulebook: Rulebook, today: int) -> list[Entry]:
    """What the show forbids, as entries of work that will not be done, so that the plan holds it.

    Only from the show's own season on (ordinal `today`), and only until the show is over.
    """
    show = collection.show
    if show is None:
        return []
    south = is_south(collection.site.latitude)
    day = show.date.toordinal()
    start = season_start(season_of(day, south), south)
    if not start <= today <= day:
        return []
    taxa = {tree.id: tree.taxon for tree in collection.trees}
    return [
        Entry(
            date=show.date.fromordinal(start),
            tree=tree,
            skipped=rule,
            note="the show",
            file="collection.yaml",
        )
        for tree in sorted(show.trees)
        if tree in taxa
        for rule in forbidden_works(rulebook.taxa[taxa[tree]])
    ]
