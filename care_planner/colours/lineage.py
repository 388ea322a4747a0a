"""A tree's branches and its young plants as one line of descent, with the flowers seen on each. Pure."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from care_planner.collection.branches import TRUNK, parent_fault
from care_planner.collection.tree import Tree
from care_planner.colours.note_checks import Checks
from care_planner.journal.model import Entry
from care_planner.problems import Problem
from care_planner.rulebook.forms import Forms
from care_planner.spans import season_of

Counts = tuple[int, ...]  # about how many flowers of each form, lightest first


@dataclass(frozen=True)
class Bloom:
    """What was seen in one season: counts by form, in full sun (where forms are less sure) or not."""

    counts: Counts
    full_sun: bool = False


@dataclass(frozen=True, eq=False)
class KnownBranch:
    """A branch. `since` and `lost` are seasons; `since` is the first in which it could flower."""

    id: str
    grows_from: str = TRUNK
    since: int | None = None
    height: str = ""
    depth: str = ""
    lost: int | None = None
    blooms: Mapping[int, Bloom] = field(default_factory=dict)
    photos: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Batch:
    """Cuttings of one branch. `plants` are those of which something was seen, by number."""

    id: str
    branch: str
    taken: int  # the season
    count: int
    rooted: int | None = None
    potted: int | None = None
    dead: int = 0  # without a number
    given_away: int = 0  # without a number
    blooms: Mapping[int, Mapping[int, Bloom]] = field(default_factory=dict)  # plant -> season -> bloom
    fates: Mapping[int, str] = field(default_factory=dict)  # plant -> kept, given-away, dead


@dataclass(frozen=True, eq=False)
class Lineage:
    """One tree: its branches (the trunk among them, parents first) and the batches taken from them."""

    tree: str
    branches: Mapping[str, KnownBranch]
    batches: Mapping[str, Batch]
    variety: tuple[int, ...] = ()  # rungs its variety is known for; empty where not told

    def noted(self) -> Iterator[tuple[tuple[str, int], int, Bloom]]:
        """Every note of flowers: (branch, 0) or (batch, plant), the season, and what was seen."""
        for branch in self.branches.values():
            yield from (((branch.id, 0), season, bloom) for season, bloom in branch.blooms.items())
        for batch in self.batches.values():
            for plant, seasons in batch.blooms.items():
                yield from (((batch.id, plant), season, bloom) for season, bloom in seasons.items())

    @property
    def is_described(self) -> bool:
        """Whether anything was told of its branches, flowers or cuttings."""
        trunk = self.branches[TRUNK]
        return bool(len(self.branches) > 1 or self.batches or trunk.blooms)


def tagged(lineage: Lineage) -> list[str]:
    """The branches a person can point at: those with a tag; the trunk only where it never had any."""
    branches = [id for id, branch in lineage.branches.items() if branch.lost is None and id != TRUNK]
    return branches or ([TRUNK] if len(lineage.branches) == 1 else [])


def lineage_of(
    tree: Tree, entries: Iterable[Entry], forms: Forms, south: bool
) -> tuple[Lineage, list[Problem]]:
    """A tree's lineage from the collection and the journal, and what is wrong in the notes.

    What is noted more than once in a season is the same flowers seen again: of each form the largest
    count stands. The order of the entries changes nothing. Notes with a mistake are left out.
    """
    notes = sorted((entry for entry in entries if entry.branch is not None), key=_by_day)
    checks = Checks(tree, forms, south)
    told = _described(tree)
    for entry in notes:
        _describe(entry, told, checks)
    batches = {
        batch.id: Batch(batch.id, batch.branch, season_of(batch.taken.toordinal(), south), batch.count)
        for batch in tree.cuttings
    }
    for entry in notes:
        _take(entry, batches, told, checks, south)
    lost = _lost(notes, told, checks, south)
    blooms, fates, counted = _seen(notes, told, batches, lost, checks, south)
    order = _parents_first(told)
    branches = {
        id: KnownBranch(
            id, told[id].grows_from, told[id].since, told[id].height, told[id].depth, lost.get(id),
            blooms.get((id, 0), {}), _photos(notes, id),
        )
        for id in order
    }  # fmt: skip
    filled = {
        id: Batch(
            id, batch.branch, batch.taken, batch.count, counted.get((id, "rooted")),
            counted.get((id, "potted")),
            counted.get((id, "dead"), 0), counted.get((id, "given-away"), 0),
            {plant: seen for (owner, plant), seen in sorted(blooms.items()) if owner == id and plant},
            {plant: fate for (owner, plant), fate in sorted(fates.items()) if owner == id},
        )
        for id, batch in sorted(batches.items())
    }  # fmt: skip
    variety = checks.variety()
    return Lineage(tree.id, branches, filled, variety), checks.problems


def _by_day(entry: Entry) -> tuple[object, ...]:
    return (entry.date, repr(entry.branch), entry.file, entry.line)


def _described(tree: Tree) -> dict[str, KnownBranch]:
    told = {TRUNK: KnownBranch(TRUNK, grows_from="")}
    for branch in tree.branches:
        parent = "" if branch.id == TRUNK else branch.grows_from
        told[branch.id] = KnownBranch(
            branch.id, parent, branch.since, branch.height or "", branch.depth or ""
        )
    return told


def _describe(entry: Entry, told: dict[str, KnownBranch], checks: "Checks") -> None:
    """Take a branch that a note describes."""
    note = entry.branch
    if note is None or not note.grows_from:
        return
    if note.branch in told:
        checks.add(entry, f"branch {note.branch!r} of {checks.tree} is described twice: two tags alike",
                   "give each branch its own tag")  # fmt: skip
        return
    parents = {id: branch.grows_from for id, branch in told.items() if id != TRUNK}
    fault = parent_fault(note.branch, note.grows_from, parents, set(told))
    since = note.since or None
    parent = told.get(note.grows_from)
    if fault is None and since and parent is not None and parent.since and since < parent.since:
        fault = (f"branch {note.branch!r} is of {since}, older than {parent.id!r} of {parent.since}",
                 f"allowed: {parent.since} or later")  # fmt: skip
    if fault is not None:
        checks.add(entry, *fault)
        return
    told[note.branch] = KnownBranch(note.branch, note.grows_from, since, note.height, note.depth)


def _take(
    entry: Entry, batches: dict[str, Batch], told: Mapping[str, KnownBranch], checks: "Checks", south: bool
) -> None:
    """Take a batch of cuttings that a note begins."""
    note = entry.branch
    if note is None or not note.taken:
        return
    branch = note.branch or TRUNK
    if note.batch in batches or note.batch in told:
        checks.add(entry, f"the label {note.batch!r} is on another batch or branch",
                   "give each batch its own label")  # fmt: skip
    elif checks.knows_branch(entry, branch, told):
        taken = season_of(entry.day, south)
        if checks.is_no_older(entry, note.batch, taken, told[branch].since):
            batches[note.batch] = Batch(note.batch, branch, taken, note.taken)


def _lost(
    notes: Iterable[Entry], told: Mapping[str, KnownBranch], checks: "Checks", south: bool
) -> dict[str, int]:
    """The seasons in which branches were lost; what grows on a lost branch is lost with it."""
    lost: dict[str, int] = {}
    for entry in notes:
        note = entry.branch
        if note is not None and note.lost and checks.knows_branch(entry, note.branch, told):
            lost.setdefault(note.branch, season_of(entry.day, south))
    for id in _parents_first(told):
        above = lost.get(told[id].grows_from)
        if above is not None:
            lost[id] = min(above, lost.get(id, above))
    return lost


def _seen(
    notes: Iterable[Entry],
    told: Mapping[str, KnownBranch],
    batches: Mapping[str, Batch],
    lost: Mapping[str, int],
    checks: "Checks",
    south: bool,
) -> tuple[dict[tuple[str, int], dict[int, Bloom]], dict[tuple[str, int], str], dict[tuple[str, str], int]]:
    """Blooms by (branch, 0) or (batch, plant); what became of plants; counts of (batch, event)."""
    blooms: dict[tuple[str, int], dict[int, Bloom]] = {}
    fates: dict[tuple[str, int], str] = {}
    counted: dict[tuple[str, str], int] = {}
    since = {id: _known_since(id, told) for id in told}
    for entry in notes:
        note = entry.branch
        if note is None:
            continue
        season = season_of(entry.day, south)
        if note.flowers:
            counts = checks.counts(entry, note.flowers)
            if note.batch:
                fits = checks.plant_fits(entry, note.batch, note.plant, season, batches)
            else:
                branch = note.branch or TRUNK
                fits = checks.knows_branch(entry, branch, told) and checks.was_there(
                    entry, branch, season, since[branch], lost.get(branch)
                )
            if counts is not None and fits:
                owner = (note.batch, note.plant) if note.batch else (note.branch or TRUNK, 0)
                seasons = blooms.setdefault(owner, {})
                seasons[season] = _larger(seasons.get(season), Bloom(counts, note.full_sun))
        elif note.young and checks.batch_fits(entry, note.batch, note.plant, season, batches):
            if note.plant:
                fates[note.batch, note.plant] = note.young
            else:
                key, count = (note.batch, note.young), note.count
                count = batches[note.batch].count if count is None else count
                # Rooted and potted on are counted anew each time, losses add up.
                before = 0 if note.young in ("rooted", "potted") else counted.get(key, 0)
                counted[key] = before + count
    return blooms, fates, counted


def _known_since(id: str, told: Mapping[str, KnownBranch]) -> int | None:
    """The first season in which a branch can have been there, as far as it is told."""
    while id:
        branch = told[id]
        if branch.since is not None:
            return branch.since
        id = branch.grows_from
    return None


def _larger(before: Bloom | None, now: Bloom) -> Bloom:
    """Two notes of one season: counts in the shade are the surer ones and stand alone."""
    if before is None:
        return now
    if before.full_sun != now.full_sun:
        return now if before.full_sun else before
    return Bloom(tuple(map(max, before.counts, now.counts)), now.full_sun)


def _photos(notes: Iterable[Entry], id: str) -> tuple[str, ...]:
    return tuple(
        entry.branch.photo
        for entry in notes
        if entry.branch is not None
        and entry.branch.photo
        and not entry.branch.batch
        and (entry.branch.branch or TRUNK) == id
    )


def _parents_first(told: Mapping[str, KnownBranch]) -> list[str]:
    """Branch ids, each after the one it grows from; otherwise by name."""
    children: dict[str, list[str]] = {}
    for id in sorted(told):
        if id != TRUNK:
            children.setdefault(told[id].grows_from, []).append(id)
    order, waiting = [], [TRUNK]
    while waiting:
        id = waiting.pop()
        order.append(id)
        waiting += reversed(children.get(id, []))
    return order
