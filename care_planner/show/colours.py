"""Which branch bore which flower, and what follows, as text of 80 columns."""

from collections.abc import Iterator, Mapping, Sequence

from care_planner.collection.branches import TRUNK
from care_planner.colours.belief import TreeBelief, believe
from care_planner.colours.decisions import (
    against_display,
    likely_form,
    must_stay,
    not_yet_seen,
    to_tag,
    worth,
)
from care_planner.colours.gather import gather
from care_planner.colours.lineage import Counts, KnownBranch, Lineage
from care_planner.colours.rates import Rates
from care_planner.folder.read_folder import Inputs
from care_planner.problems import Problem, ProblemsFound, did_you_mean
from care_planner.rulebook.forms import Forms
from care_planner.show.plan import wrapped
from care_planner.spans import is_south, season_of

_SURE = 0.995  # shown as certain
_CLEARLY = 0.1
_BLANK = "_" * 24


NOTHING = (
    "No branches, flowers or cuttings are noted yet. In bloom, note what each branch shows, in the journal: "
    "{date: 2027-05-28, tree: ID, branch: left-1, grows: {from: trunk}} and "
    "{date: 2027-05-28, tree: ID, branch: left-1, flowers: {white ground: 12, striped: 3}}"
)


def colour_lines(inputs: Inputs, tree: str | None, today: int) -> Iterator[str]:
    """For each tree with branches told of, or for one, what its notes say.

    Raises ProblemsFound where there is no such tree.
    """
    known = [one.id for one in inputs.collection.trees]
    if tree is not None and tree not in known:
        raise ProblemsFound([Problem("TREE", 0, f"unknown tree '{tree}'", did_you_mean(tree, known))])
    season = season_of(today, is_south(inputs.collection.site.latitude))
    nothing = True
    for taxon, (beliefs, rates) in believed(inputs, today).items():
        shown = [belief for belief in beliefs if tree in (None, belief.lineage.tree)]
        if not shown:
            continue
        nothing = False
        lineages = [belief.lineage for belief in beliefs]
        yield from rate_lines(lineages, rates, inputs.rulebook.taxa[taxon].title)
        for belief in shown:
            yield ""
            yield from _tree_lines(belief, forms_of(inputs, taxon), season)
    if nothing:
        yield from wrapped(NOTHING)


def believed(inputs: Inputs, today: int) -> Mapping[str, tuple[list[TreeBelief], Rates]]:
    """What is believed of every tree by the notes up to today, by taxon."""
    season = season_of(today, is_south(inputs.collection.site.latitude))
    entries = [entry for entry in inputs.entries if entry.day <= today]
    lineages, _ = gather(inputs.collection, entries, inputs.rulebook)  # mistakes end the reading before
    return {
        taxon: believe(trees, len(forms_of(inputs, taxon).ladder), season)
        for taxon, trees in sorted(lineages.items())
    }


def forms_of(inputs: Inputs, taxon: str) -> Forms:
    """The ladder of a taxon that has one."""
    forms = inputs.rulebook.taxa[taxon].forms
    assert forms is not None
    return forms


def rate_lines(lineages: Sequence[Lineage], rates: Rates, title: str) -> Iterator[str]:
    """The rates with their spread, and how little they rest on."""
    blooms = [
        bloom
        for lineage in lineages
        for seasons in (
            *(branch.blooms for branch in lineage.branches.values()),
            *(seen for batch in lineage.batches.values() for seen in batch.blooms.values()),
        )
        for bloom in seasons.values()
    ]
    flowers = sum(sum(bloom.counts) for bloom in blooms)
    yield from wrapped(
        f"{title}: in a year of growth a branch's wood darkens with a chance of {_spread(rates, 'darken')} "
        f"and goes back with one of {_spread(rates, 'back')}. This rests on {_many(len(blooms), 'note')} of "
        f"{_many(flowers, 'flower')} and on a wide starting belief; no rate has been published."
    )


def _spread(rates: Rates, which: str) -> str:
    low, middle, high = (rates.quantile(which, share) for share in (0.1, 0.5, 0.9))
    return f"{percent(middle)} (80%: {percent(low)} to {percent(high)})"


def percent(chance: float) -> str:
    """`93%`, `4.8%`, `0.27%`."""
    return f"{chance:.0%}" if chance >= 0.1 else f"{100 * chance:.2g}%"


def _many(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _tree_lines(belief: TreeBelief, forms: Forms, season: int) -> Iterator[str]:
    lineage = belief.lineage
    yield lineage.tree
    for branch in lineage.branches.values():
        if branch.id != TRUNK or branch.blooms or len(lineage.branches) == 1:
            yield from _branch_lines(belief, branch, forms)
    parts = {
        "Unusual, check the tag": _unusual(belief, forms),
        "Must not be cut": _stay(belief, forms),
        "Not yet seen in flower: wait with cutting": _listed(not_yet_seen(lineage)),
        f"To tag in season {season}, the least known first": _tags(belief, forms, season),
        "Against display (dark inside and low, light outside and high)": _against(belief),
        "Variety": _variety(belief, forms),
    }
    for head, lines in parts.items():
        found = list(lines)
        if found:
            yield f"  {head}"
            for line in found:
                yield from wrapped(line, "    ", "      ")


def _branch_lines(belief: TreeBelief, branch: KnownBranch, forms: Forms) -> Iterator[str]:
    place = ", ".join(filter(None, (branch.height, branch.depth)))
    origin = f" from {branch.grows_from}" if branch.grows_from else ""
    since = f", since {branch.since}" if branch.since else ""
    yield from wrapped(f"  {branch.id}{origin}{since}{f' ({place})' if place else ''}", "", "    ")
    flowers = sum(sum(bloom.counts) for bloom in branch.blooms.values())
    if branch.lost is not None:
        yield f"    lost in {branch.lost}"
    else:
        source = f"from {_many(flowers, 'flower')}" if flowers else "from its kin alone"
        yield from wrapped(f"can give {gives_words(belief, branch.id, forms)} ({source})", "    ", "      ")
    for season, bloom in sorted(branch.blooms.items()):
        sun = " (in full sun: less sure)" if bloom.full_sun else ""
        yield from wrapped(f"{season}: {counts_words(bloom.counts, forms)}{sun}", "    ", "      ")
    for photo in branch.photos:
        yield from wrapped(f"photo {photo}", "    ", "      ")


def gives_words(belief: TreeBelief, branch: str, forms: Forms) -> str:
    """`white ground 93%, striped 99%, solid`: the lightest form, and those that are clearly more likely."""
    words = []
    told = -1.0
    for form, chance in zip(forms.ladder, belief.gives((branch, 0)), strict=True):
        if chance >= _SURE:
            words.append(f"{form.title.lower()}{'' if form is forms.ladder[-1] else ' and darker'}")
            break
        if chance >= told + _CLEARLY:
            words.append(f"{form.title.lower()} {percent(float(chance))}")
            told = chance
    return ", ".join(words)


def counts_words(counts: Counts, forms: Forms) -> str:
    """`white ground 12, striped 3`."""
    seen = zip(forms.ladder, counts, strict=True)
    return ", ".join(f"{form.title.lower()} {count}" for form, count in seen if count)


def _unusual(belief: TreeBelief, forms: Forms) -> Iterator[str]:
    for one in belief.unusual:
        form = forms.ladder[one.form].title.lower()
        plant = f" plant {one.owner[1]}" if one.owner[1] else ""
        yield (
            f"{one.owner[0]}{plant}, {one.season}: {form}, for which all other notes leave a chance of "
            f"{percent(one.chance)}. Is it the right tag? If so, keep it"
        )


def _stay(belief: TreeBelief, forms: Forms) -> Iterator[str]:
    for keep in must_stay(belief):
        form = forms.ladder[keep.form].title.lower()
        if len(keep.branches) > 1:
            yield f"{', '.join(keep.branches)}: only these have {form}; leave one at least"
        else:
            yield (
                f"{keep.branches[0]}: with it the tree would lose {form} for good, with a chance of "
                f"{percent(keep.chance)}"
            )


def _listed(names: list[str]) -> Iterator[str]:
    if names:
        yield ", ".join(names)


def _tags(belief: TreeBelief, forms: Forms, season: int) -> Iterator[str]:
    for branch in to_tag(belief, season):
        owner = (branch.id, 0)
        likely = likely_form(belief, owner)
        chance = percent(float(belief.lightest(owner)[likely]))
        yield f"[ ] {branch.id}: likely {forms.ladder[likely].title.lower()} ({chance}) {_BLANK}"


def _against(belief: TreeBelief) -> Iterator[str]:
    kept = {branch for keep in must_stay(belief) for branch in keep.branches}
    for branch, too_dark in against_display(belief):
        place = " and ".join(filter(None, (branch.height, branch.depth)))
        stays = "; it stays all the same, see above" if branch.id in kept else ""
        yield f"{branch.id}: {'dark' if too_dark else 'light'} for {place}{stays}"


def _variety(belief: TreeBelief, forms: Forms) -> Iterator[str]:
    found = worth(belief)
    if found is None:
        return
    form = forms.ladder[found.form].title.lower()
    says = "it can carry the name" if found.carries_the_name else "it should not carry the variety's name"
    missing = ", ".join(forms.ladder[rung].title.lower() for rung in found.missing)
    shown = f"{len(found.shown)} of {len(found.shown) + len(found.missing)} forms seen"
    yield f"can give {form}, the lightest of its variety: {percent(found.chance)}; {says}"
    yield f"{shown}{f'; not yet seen: {missing}' if missing else ''}"
