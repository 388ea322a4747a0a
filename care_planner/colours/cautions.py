"""Works that name branches and young plants: what to tag, to leave, to cut cuttings of, to give away. Pure.

A pack's rule says by `names_branches` what its works are told, in lines that name their tree, since a round's
event holds those of several. What young plants ask for becomes signs of their mother tree, as if someone had
noted them: a pack's rules wait for these, and so get days of their own.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from care_planner.collection.branches import TRUNK
from care_planner.colours.ledger import TaxonLedger
from care_planner.colours.ledger_rows import TreeLedger
from care_planner.journal.model import Entry, Saw
from care_planner.rulebook.forms import Forms
from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.rule import NamesBranches
from care_planner.tasks.links import PlainWords
from care_planner.tasks.model import Task
from care_planner.tasks.notices import Notice

PASSPORT = (
    "plants that change hands or cross a border may need a plant passport: ask the plant-health authority"
)
UNPROVEN, UNWANTED = "unproven-cuttings", "plants-to-give-away"  # signs, where the taxon's pack has them
_MOST_NAMED = 12


def signs(ledgers: Iterable[TaxonLedger], rulebook: Rulebook, begins: int) -> list[Entry]:
    """What young plants ask for this season, noted of their mother trees on its first day, `begins`."""
    found = []
    for ledger in ledgers:
        known = rulebook.taxa[ledger.taxon].signs
        for tree in ledger.trees:
            asked = {
                UNPROVEN: any(row.to_look_at for row in tree.batches),
                UNWANTED: bool(tree.to_give_away),
            }
            found += [
                Entry(date.fromordinal(begins), tree.tree, saw=Saw(stage=sign), learn=False)
                for sign, holds in asked.items()
                if holds and sign in known
            ]
    return found


@dataclass(frozen=True, eq=False)
class _Known:
    """One tree's ledger, with its taxon's forms."""

    ledger: TreeLedger
    forms: Forms

    def form(self, rung: int) -> str:
        return self.forms.ladder[rung].title.lower()

    def doubt(self, *branches: str) -> str:
        """What stands behind a line about branches of which a note is doubtful."""
        doubtful = [id for id in branches if self.ledger.is_doubtful(id)]
        return f" (a note of {_names(doubtful)} is doubtful: look in bloom)" if doubtful else ""


def with_branches(
    tasks: Sequence[Task], season: int, ledgers: Iterable[TaxonLedger], rulebook: Rulebook
) -> tuple[Sequence[Task], list[Notice]]:
    """The tasks with branches named in the works of trees whose colours are noted, and what to tell beside.

    `season` is the current one. No day changes.
    """
    known = {tree.tree: _Known(tree, ledger.forms) for ledger in ledgers for tree in ledger.trees}
    if not known:
        return tasks, []
    named: list[Task] = []
    given_away: set[str] = set()
    for task in tasks:
        names = _names_branches(task, rulebook)
        if task.tree not in known or names is None:
            named.append(task)
            continue
        if names == "to-give-away":
            given_away.add(task.tree)
        lines = _lines(names, known[task.tree], task.season == season)
        named.append(replace(task, cautions=(*(f"{task.tree}: {line}" for line in lines), *task.cautions)))
    # Where no work of its own came of it, as for a tree without bloom.
    told = [
        f"{tree}: give away {line}; {PASSPORT}"
        for tree in sorted(set(known) - given_away)
        for line in _give_away(known[tree])
    ]
    return named, [Notice(PlainWords(line)) for line in told]


def _names_branches(task: Task, rulebook: Rulebook) -> NamesBranches | None:
    rule = rulebook.taxa[task.taxon].rules.get(task.rule)
    return rule.names_branches if rule is not None and task.kind == "work" else None


def _lines(names: NamesBranches, tree: _Known, is_now: bool) -> Iterable[str]:
    if names == "to-tag":
        return _tag(tree, is_now)
    if names == "to-take-cuttings-of":
        return _cuttings(tree)
    if names == "to-look-at":
        return _look(tree)
    return _give_away(tree) if names == "to-give-away" else _stay(tree)


def _tag(tree: _Known, is_now: bool) -> Iterator[str]:
    """What to tag: this season what is not yet noted, the next all that is there."""
    there = [row.id for row in tree.ledger.branches if row.is_there]
    branches = [id for id in (tree.ledger.to_tag if is_now else there) if id != TRUNK]
    if branches:
        yield f"tag {_names(branches)}{' (the least known first)' if is_now else ''}"
    for swap in tree.ledger.swaps if is_now else ():
        yield f"the tags of {' and '.join(swap.branches)} look swapped in {swap.season}: check them first"


def _look(tree: _Known) -> Iterator[str]:
    for row in tree.ledger.batches:
        if row.to_look_at:
            yield f"batch {row.batch.id} of {row.batch.branch}: {row.unseen} not yet seen in flower"


def _stay(tree: _Known) -> Iterator[str]:
    for keep in tree.ledger.keeps:
        form, doubt = tree.form(keep.form), tree.doubt(*keep.branches)
        if len(keep.branches) > 1:
            yield f"leave one at least of {_names(keep.branches)}, the only ones with {form}{doubt}"
        else:
            yield f"{keep.branches[0]} must stay, else {form} is lost for good{doubt}"
    unseen = [row.id for row in tree.ledger.branches if row.is_there and not row.seen and row.id != TRUNK]
    if unseen:
        yield f"not yet seen in flower, so not yet cut: {_names(unseen)}"


def _cuttings(tree: _Known) -> Iterator[str]:
    for take in tree.ledger.takes[:1]:
        form, doubt = tree.form(take.form), tree.doubt(take.branch)
        if take.roots_too_seldom:
            yield f"best of {take.branch}, but so few rooted before: first find out why they failed{doubt}"
        elif take.count is None:
            look = f"first look at {take.branch} in bloom, tagged shoot by shoot"
            yield f"no branch surely keeps {form}: {look}{doubt}"
        else:
            yield f"{take.count} of {take.branch} leave one plant that can give {form}{doubt}"


def _give_away(tree: _Known) -> Iterator[str]:
    plants = [f"{one.batch} plant {one.plant}" for one in tree.ledger.to_give_away]
    if plants:
        yield _names(plants)


def _names(names: list[str] | tuple[str, ...]) -> str:
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return ", ".join(names[:_MOST_NAMED]) + more
