"""The rules in force, where each comes from, and how their own examples fared."""

from collections.abc import Iterator

from care_planner.rulebook.pack import Rulebook, TaxonRules
from care_planner.show.wrapping import wrapped
from care_planner.tools.run_examples import run_examples


def rule_lines(rulebook: Rulebook) -> Iterator[tuple[str, bool]]:
    """Lines of 80 columns, each with whether it tells of an example that failed."""
    total = failed = 0
    for rules in rulebook.taxa.values():
        yield from ((line, False) for line in _taxon(rules))
        for result in run_examples(rules):
            total += 1
            if result.fault:
                failed += 1
                yield from ((line, True) for line in wrapped(f"  FAILED {result.words}: {result.fault}"))
        yield "", False
    yield f"{total} examples run, {failed} failed", failed > 0


def _taxon(rules: TaxonRules) -> Iterator[str]:
    yield from wrapped(f"{rules.title} ({rules.id}, {rules.taxon.botanical})")
    stages = ", ".join(f"{id} {stage.bbch}" for id, stage in rules.stages.items())
    yield from wrapped(f"stages: {stages}", "  ", "    ")
    for id, rule in rules.rules.items():
        origin = rules.origins[id]
        changed = f", changed by {origin.changed_by}" if origin.changed_by else ""
        yield from wrapped(f"{id:<22} {rule.title} [{origin.file}{changed}]", "  ", " " * 25)
        yield from wrapped(rule.source, " " * 25, " " * 25)
