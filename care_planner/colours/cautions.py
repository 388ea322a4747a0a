"""A plan whose works name branches: what to tag, what must stay, where to cut cuttings. Pure.

It stands behind `make_plan` and changes cautions only, no day: colours say which branch, never when. Each
line names its tree, since a round's event holds the lines of several.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from care_planner.collection.branches import TRUNK
from care_planner.colours.belief import TreeBelief
from care_planner.colours.cuttings import advise, rooting, to_look_at, to_take, unproven
from care_planner.colours.decisions import must_stay, not_yet_seen, to_tag
from care_planner.colours.flowers import Array
from care_planner.folder.read_folder import Inputs
from care_planner.plan import Plan
from care_planner.rulebook.forms import Forms
from care_planner.show.colours import believed, forms_of
from care_planner.tasks.links import PlainWords
from care_planner.tasks.model import Task
from care_planner.tasks.notices import Notice

TAG, CUTTINGS, PRUNING = "tag-colours", "take-cuttings", "pruning"
PASSPORT = (
    "plants that change hands or cross a border may need a plant passport: ask the plant-health authority"
)
_MOST_NAMED = 12


@dataclass(frozen=True, eq=False)
class _Known:
    """What is known of one tree's branches, with its taxon's forms and how cuttings root."""

    belief: TreeBelief
    forms: Forms
    roots: Array

    def form(self, rung: int) -> str:
        return self.forms.ladder[rung].title.lower()


def with_colours(plan: Plan, inputs: Inputs) -> Plan:
    """The plan with branches named in the works of trees whose colours are noted; else the plan as it is."""
    known: dict[str, _Known] = {}
    for taxon, (beliefs, _) in believed(inputs, plan.today).items():
        roots = rooting([belief.lineage for belief in beliefs])
        forms = forms_of(inputs, taxon)
        known |= {belief.lineage.tree: _Known(belief, forms, roots) for belief in beliefs}
    if not known:
        return plan
    told = [line for tree in sorted(known) for line in _give_away(known[tree])]
    return replace(
        plan,
        tasks=[_named(task, plan.season, known) for task in plan.tasks],
        notices=[*plan.notices, *(Notice(PlainWords(line)) for line in told)],
    )


def _named(task: Task, season: int, known: Mapping[str, _Known]) -> Task:
    """The task with what is known of its tree's branches, where it is of this season or the next."""
    if task.kind != "work" or task.tree not in known:
        return task
    tree = known[task.tree]
    if task.rule == TAG:
        lines = list(_tag(tree, task.season, task.season == season))
    elif task.rule == CUTTINGS:
        lines = list(_cuttings(tree))
    elif task.category == PRUNING:
        lines = list(_stay(tree))
    else:
        return task
    return replace(task, cautions=(*(f"{task.tree}: {line}" for line in lines), *task.cautions))


def _tag(tree: _Known, season: int, is_now: bool) -> Iterator[str]:
    branches = [branch.id for branch in to_tag(tree.belief, season) if branch.id != TRUNK]
    if branches:
        yield f"tag {_names(branches)} (the least known first)"
    for batch in to_look_at(tree.belief.lineage, season) if is_now else ():
        yield f"look at the first flowers of batch {batch.id} too: {unproven(batch)} not yet seen"


def _stay(tree: _Known) -> Iterator[str]:
    for keep in must_stay(tree.belief):
        form = tree.form(keep.form)
        if len(keep.branches) > 1:
            yield f"leave one at least of {_names(keep.branches)}, the only ones with {form}"
        else:
            yield f"{keep.branches[0]} must stay, else {form} is lost for good"
    unseen = [branch for branch in not_yet_seen(tree.belief.lineage) if branch != TRUNK]
    if unseen:
        yield f"not yet seen in flower, so not yet cut: {_names(unseen)}"


def _cuttings(tree: _Known) -> Iterator[str]:
    for take in to_take(tree.belief, 1, tree.roots, most=1):
        if take.count is None:
            yield f"no branch surely keeps {tree.form(take.form)}; the best is {take.branch}"
        else:
            yield f"{take.count} of {take.branch} leave one plant that can give {tree.form(take.form)}"


def _give_away(tree: _Known) -> Iterator[str]:
    plants = [f"{one.batch} plant {one.plant}" for one in advise(tree.belief) if one.what == "give away"]
    if plants:
        yield f"{tree.belief.lineage.tree}: after bloom give away {_names(plants)}; {PASSPORT}"


def _names(names: Sequence[str]) -> str:
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return ", ".join(names[:_MOST_NAMED]) + more
