"""What a show forbids: work on the roots, and work that takes the flowers off before it."""

from datetime import date

from care_planner.collection.model import Collection
from care_planner.journal.model import Entry
from care_planner.rulebook.pack import Rulebook, TaxonRules
from care_planner.rulebook.rule import Rule
from care_planner.spans import HALF_YEAR_DAYS, is_south, season_of, season_start


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


def forbidden_before(rules: TaxonRules) -> tuple[str, ...]:
    """Rules of a taxon that a show forbids in the season before: what takes its buds off."""
    found = [
        rule.id
        for rule in rules.rules.values()
        if not _is_rescue(rule)
        and any(
            effect.season == "next"
            and effect.set is not None
            and "none" in (effect.set.buds, effect.set.bloom)
            for effect in rule.all_effects()
        )
    ]
    return tuple(sorted(found))


def _is_rescue(rule: Rule) -> bool:
    return rule.opens is not None and rule.opens.sign is not None


def show_entries(collection: Collection, rulebook: Rulebook, today: int) -> list[Entry]:
    """What the show forbids, as entries of work that will not be done, so that the plan holds it.

    Only until the show is over (ordinal `today`): from its own season on, and for what takes buds off from
    the midsummer before.
    """
    show = collection.show
    if show is None or today > show.date.toordinal():
        return []
    south = is_south(collection.site.latitude)
    season = season_of(show.date.toordinal(), south)
    start, summer = season_start(season, south), season_start(season - 1, south) + HALF_YEAR_DAYS
    taxa = {tree.id: tree.taxon for tree in collection.trees}
    return [
        Entry(date=date.fromordinal(day), tree=tree, skipped=rule, note="the show", file="collection.yaml")
        for tree in sorted(show.trees)
        if tree in taxa
        for day, of in ((summer, forbidden_before), (start, forbidden_works))
        if day <= today
        for rule in of(rulebook.taxa[taxa[tree]])
    ]
