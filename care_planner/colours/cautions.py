"""A plan whose works name branches: what to tag, what must stay, where to cut cuttings. Pure.

It stands behind `make_plan` and changes cautions only, no day: colours say which branch, never when. A pack's
rule says by `names_branches` what its works are told. Each line names its tree, since a round's event holds
the lines of several.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from care_planner.collection.branches import TRUNK
from care_planner.collection.model import Collection
from care_planner.colours.facts import TreeLedger
from care_planner.colours.ledger import ledgers
from care_planner.journal.model import Entry
from care_planner.plan import Plan
from care_planner.rulebook.forms import Forms
from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.rule import TO_LEAVE, TO_TAG, TO_TAKE_CUTTINGS_OF
from care_planner.tasks.model import Task

PASSPORT = (
    "plants that change hands or cross a border may need a plant passport: ask the plant-health authority"
)
_MOST_NAMED = 12


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


def with_colours(plan: Plan, collection: Collection, entries: Iterable[Entry], rulebook: Rulebook) -> Plan:
    """The plan with branches named in the works of trees whose colours are noted; else the plan as it is."""
    known = {
        tree.tree: _Known(tree, ledger.forms)
        for ledger in ledgers(collection, entries, rulebook, plan.today)
        for tree in ledger.trees
    }
    if not known:
        return plan
    told = [line for tree in sorted(known) for line in _give_away(known[tree].ledger)]
    return replace(
        plan,
        tasks=[_named(task, plan.season, known, rulebook) for task in plan.tasks],
        problems=sorted([*plan.problems, *told]),
    )


def _named(task: Task, season: int, known: Mapping[str, _Known], rulebook: Rulebook) -> Task:
    """The task with what is known of its tree's branches."""
    if task.kind != "work" or task.tree not in known:
        return task
    rule = rulebook.taxa[task.taxon].rules.get(task.rule)
    tree = known[task.tree]
    if rule is None or rule.names_branches is None:
        return task
    lines = {
        TO_TAG: lambda: _tag(tree, task.season == season),
        TO_TAKE_CUTTINGS_OF: lambda: _cuttings(tree),
        TO_LEAVE: lambda: _stay(tree),
    }[rule.names_branches]()
    return replace(task, cautions=(*(f"{task.tree}: {line}" for line in lines), *task.cautions))


def _tag(tree: _Known, is_now: bool) -> Iterator[str]:
    """What to tag: this season what is not yet noted, the next all that is there."""
    there = [row.id for row in tree.ledger.branches if row.is_there]
    branches = [id for id in (tree.ledger.to_tag if is_now else there) if id != TRUNK]
    if branches:
        yield f"tag {_names(branches)}{' (the least known first)' if is_now else ''}"
    for swap in tree.ledger.swaps if is_now else ():
        yield f"the tags of {' and '.join(swap.branches)} look swapped in {swap.season}: check them first"
    for row in tree.ledger.batches if is_now else ():
        if row.to_look_at:
            yield f"look at the first flowers of batch {row.batch.id} too: {row.unseen} not yet seen"


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
        if take.count is None:
            look = f"first look at {take.branch} in bloom, tagged shoot by shoot"
            yield f"no branch surely keeps {form}: {look}{doubt}"
        else:
            yield f"{take.count} of {take.branch} leave one plant that can give {form}{doubt}"


def _give_away(ledger: TreeLedger) -> Iterator[str]:
    plants = [f"{one.batch} plant {one.plant}" for one in ledger.to_give_away]
    if plants:
        yield f"{ledger.tree}: after bloom give away {_names(plants)}; {PASSPORT}"


def _names(names: list[str] | tuple[str, ...]) -> str:
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return ", ".join(names[:_MOST_NAMED]) + more
