"""What a collection's notes say of its branches, by taxon: the facts behind tables and works. Pure."""

from collections.abc import Collection as Names
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from care_planner.collection.model import Collection
from care_planner.collection.tree import Tree
from care_planner.colours.belief import believe
from care_planner.colours.cuttings import rooting
from care_planner.colours.gather import gather
from care_planner.colours.ledger_rows import TreeLedger, tree_ledger
from care_planner.colours.lineage import Lineage
from care_planner.colours.rates import Rates
from care_planner.journal.model import Entry
from care_planner.rulebook.forms import Forms
from care_planner.rulebook.pack import Rulebook
from care_planner.spans import is_south, season_of


@dataclass(frozen=True)
class ChanceSpan:
    """A belief about one number: 10, 50 and 90 % lie below."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class LearntRates:
    """What all trees of a taxon teach, and on how little it rests."""

    darken: ChanceSpan
    back: ChanceSpan
    shows: float  # mean share of a season's flowers in its wood's own form
    mistakes: float  # mean share of notes that are of other wood
    roots: float  # mean chance that a cutting roots
    notes: int
    flowers: int


@dataclass(frozen=True)
class TaxonLedger:
    """The tables of a taxon's trees, by name; trees that have left are not among them."""

    taxon: str
    title: str
    forms: Forms
    learnt: LearntRates
    trees: tuple[TreeLedger, ...]


def ledgers(
    collection: Collection,
    entries: Iterable[Entry],
    rulebook: Rulebook,
    today: int,
    only: Names[str] | None = None,
    wanted: int = 1,
    risk: float | None = None,
) -> tuple[TaxonLedger, ...]:
    """The ledgers by the notes up to `today` (an ordinal) of trees that are still there, by taxon.

    With `only` of these trees alone. `wanted` plants are to keep the range where cuttings are advised; `risk`
    stands for what the collection accepts. Mistakes in the notes are left out: who reads them has told them.
    """
    season = season_of(today, is_south(collection.site.latitude))
    lineages, _ = gather(collection, (entry for entry in entries if entry.day <= today), rulebook)
    here = {
        tree.id for tree in collection.trees if is_there(tree, today) and (only is None or tree.id in only)
    }
    accepted = collection.risk.colours if risk is None else risk
    found = []
    for taxon, held in sorted(lineages.items()):
        asked = here & {lineage.tree for lineage in held}
        forms = rulebook.taxa[taxon].forms
        if not asked or forms is None:
            continue
        beliefs, rates = believe(held, len(forms.ladder), season, only=asked)
        roots = rooting(held)
        trees = tuple(tree_ledger(belief, taxon, season, roots, wanted, accepted) for belief in beliefs)
        learnt = _learnt(held, rates, float(roots[:, 0] @ roots[:, 1]))
        found.append(TaxonLedger(taxon, rulebook.taxa[taxon].title, forms, learnt, trees))
    return tuple(found)


def is_there(tree: Tree, today: int) -> bool:
    """Whether a tree has not left: what was sold or died needs no advice."""
    return tree.until is None or tree.until.date.toordinal() > today


def _learnt(lineages: Sequence[Lineage], rates: Rates, roots: float) -> LearntRates:
    noted = [bloom for lineage in lineages for _, _, bloom in lineage.noted()]
    darken, back = (
        ChanceSpan(*(rates.quantile(which, part) for part in (0.1, 0.5, 0.9))) for which in ("darken", "back")
    )
    flowers = sum(sum(bloom.counts) for bloom in noted)
    return LearntRates(darken, back, rates.mean("shows"), rates.mean("mistakes"), roots, len(noted), flowers)
