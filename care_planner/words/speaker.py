"""Who is spoken of: what words need to know of rules, trees and benches."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from care_planner.rulebook.pack import TaxonRules
from care_planner.rulebook.rule import Rule
from care_planner.tasks.model import Task


@dataclass(frozen=True, eq=False)
class Speaker:
    """What the words need to know: rules by taxon, the trees' given names, benches in walking order."""

    taxa: Mapping[str, TaxonRules]
    names: Mapping[str, str] = field(default_factory=dict)
    benches: Sequence[str] = ()
    counts: Mapping[str, int] = field(default_factory=dict)  # trees on each bench
    rough: str = ""  # why the dates are rough, where they are

    def rule(self, task: Task) -> Rule | None:
        """The rule behind a task; None where the packs no longer have it."""
        taxon = self.taxa.get(task.taxon)
        return taxon.rules.get(task.rule) if taxon is not None else None

    def tree(self, tree: str) -> str:
        """A tree by id, with its given name where it has one."""
        name = self.names.get(tree)
        return f"{tree} ({name})" if name and name != tree else tree

    def place(self, bench: str) -> int:
        """The place of a bench in walking order; unknown ones last."""
        return self.benches.index(bench) if bench in self.benches else len(self.benches)
