"""Notes of all trees -> what is believed of each tree's pace. Closed form; pure.

Each tree has its own notes, and hears of the other trees of its taxon on the site through their mean in
each stage and season. Trees without notes hear of the others alone, and all hear the same.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from care_planner.learning.conditioning import ODD_AT, above, given, odd_notes
from care_planner.learning.covariance import Points, alone, covariance, points
from care_planner.learning.notes import Note
from care_planner.learning.pace_belief import NOTHING_LEARNT, PaceBelief, belief_of
from care_planner.rulebook.taxon import Pace
from care_planner.stages.reach import Floats

# The seasons of the other trees that a tree hears of, up to the last noted: what is older has faded.
OTHERS_SEASONS = 4


@dataclass(frozen=True, eq=False)
class Evidence:
    """Notes as points with their values and the variance each has alone."""

    at: Points
    values: Floats
    noise: Floats
    notes: tuple[Note | None, ...]  # None for a mean over other trees


@dataclass(frozen=True)
class OddNote:
    """A note that does not fit the rest, by how many days (later: positive)."""

    note: Note
    days: float


@dataclass(frozen=True, eq=False)
class Learnt:
    """What notes taught of one taxon's trees."""

    of_trees: Mapping[str, PaceBelief]  # trees with notes of their own
    of_others: PaceBelief  # all other trees
    notes: Mapping[str, Sequence[Note]] = field(default_factory=dict)
    odd: Sequence[OddNote] = ()

    def belief(self, tree: str) -> PaceBelief:
        """The belief of one tree."""
        return self.of_trees.get(tree, self.of_others)


NO_NOTES = Learnt({}, NOTHING_LEARNT)


def learn(notes: Iterable[Note], pace: Pace, stages: Sequence[str], seasons: Iterable[int]) -> Learnt:
    """Beliefs of the stages named in the seasons named, for the trees of one taxon on one site."""
    by_tree: defaultdict[str, list[Note]] = defaultdict(list)
    for note in sorted(set(notes), key=_note_key):
        by_tree[note.tree].append(note)
    if not by_tree:
        return NO_NOTES
    wanted = [(stage, season) for season in sorted(set(seasons)) for stage in stages]
    cells = _cells(by_tree)
    beliefs, odd = {}, []
    for tree, own in sorted(by_tree.items()):
        evidence = _joined(_own(own, pace), _others(cells, tree, pace))
        normals, not_fitting = normals_given(evidence, own, pace, wanted)
        beliefs[tree] = belief_of(normals)
        odd += not_fitting
    normals, _ = normals_given(_others(cells, "", pace), (), pace, wanted)
    return Learnt(beliefs, belief_of(normals), by_tree, tuple(odd))


def normals_given(
    evidence: Evidence, own: Sequence[Note], pace: Pace, wanted: Sequence[tuple[str, int]]
) -> tuple[dict[tuple[str, int], tuple[float, float]], list[OddNote]]:
    """Mean and spread of each wanted (stage, season), and the tree's own notes that do not fit.

    `own` are looked through for bounds ("not yet"); dates are in the evidence.
    """
    known = covariance(pace, evidence.at, evidence.at)
    extra, off, apart = odd_notes(known, evidence.noise, evidence.values)
    odd = [
        OddNote(note, _days_off(note, float(apart[i])))
        for i, note in enumerate(evidence.notes)
        if note is not None and abs(off[i]) > ODD_AT
    ]
    settled = Evidence(evidence.at, evidence.values, evidence.noise + extra, evidence.notes)
    bounds = [note for note in own if note.is_bound]
    within, not_fitting = _all_bounded(settled, bounds, pace)
    normals = _normals(within, wanted, pace)
    for bound in bounds:
        # Of the very stage and season it speaks of, members before the bound are cut off: not twice.
        key = (bound.stage, bound.season)
        if key in normals:
            rest, _ = _all_bounded(settled, [note for note in bounds if note is not bound], pace)
            normals |= _normals(rest, [key], pace)
    return normals, odd + not_fitting


def _normals(
    evidence: Evidence, wanted: Sequence[tuple[str, int]], pace: Pace
) -> dict[tuple[str, int], tuple[float, float]]:
    asked = points([(stage, season, 0.0) for stage, season in wanted])
    means, variances = _told(evidence, asked, pace)
    return {key: (float(means[i]), float(np.sqrt(variances[i]))) for i, key in enumerate(wanted)}


def _all_bounded(evidence: Evidence, bounds: Sequence[Note], pace: Pace) -> tuple[Evidence, list[OddNote]]:
    odd = []
    for bound in bounds:
        evidence, days = _bounded(evidence, bound, pace)
        if days is not None:
            odd.append(OddNote(bound, days))
    return evidence, odd


def _told(evidence: Evidence, asked: Points, pace: Pace) -> tuple[Floats, Floats]:
    cross = covariance(pace, asked, evidence.at)
    variance = np.array([pace.spread_of(stage) ** 2 for stage in asked.stages])
    known = covariance(pace, evidence.at, evidence.at)
    return given(known, evidence.noise, evidence.values, cross, variance)


def _bounded(evidence: Evidence, bound: Note, pace: Pace) -> tuple[Evidence, float | None]:
    """The evidence with a bound; and, where the bound is odd, by how many days it lies beyond the rest.

    An odd bound gets the extra variance that an odd date gets.
    """
    at = points([(bound.stage, bound.season, 0.0)])
    means, variances = _told(evidence, at, pace)
    mean, own = float(means[0]), float(variances[0]) + bound.variance
    off = (bound.log_pace - mean) / np.sqrt(own)
    extra = own * (max(off / ODD_AT, 1.0) ** 4 - 1.0)
    found = above(mean, own + extra, bound.log_pace)
    if found is None:
        return evidence, None
    value, noise = found
    # It speaks of the day as noted: the note's own error, and what is of one note alone, come on top.
    noise += bound.variance + extra
    added = Evidence(at, np.array([value]), np.array([noise]) + alone(pace, at), (None,))
    days = _days_off(bound, bound.log_pace - mean) if off > ODD_AT else None
    return _joined(evidence, added), days


def _days_off(note: Note, apart: float) -> float:
    """Days after the day that the other notes make of it, from how far its log pace lies from theirs."""
    return note.late_days - (note.log_pace - apart) / note.per_day


def _own(notes: Sequence[Note], pace: Pace) -> Evidence:
    dated = [note for note in notes if not note.is_bound]
    at = points([(note.stage, note.season, 0.0) for note in dated])
    noise = np.array([note.variance for note in dated]) + alone(pace, at)
    return Evidence(at, np.array([note.log_pace for note in dated]), noise, tuple(dated))


def _cells(by_tree: Mapping[str, Sequence[Note]]) -> dict[tuple[str, int], dict[str, Note]]:
    """The dated notes of every (stage, season), by tree; the last seasons only."""
    latest = max(note.season for notes in by_tree.values() for note in notes)
    cells: defaultdict[tuple[str, int], dict[str, Note]] = defaultdict(dict)
    for tree, notes in by_tree.items():
        for note in notes:
            if not note.is_bound and note.season > latest - OTHERS_SEASONS:
                cells[note.stage, note.season][tree] = note
    return dict(sorted(cells.items()))


def _others(cells: Mapping[tuple[str, int], Mapping[str, Note]], tree: str, pace: Pace) -> Evidence:
    """The other trees: in each stage and season their middle value, as a mean over so many."""
    rows, values, variances = [], [], []
    for (stage, season), by_tree in cells.items():
        found = [note for name, note in by_tree.items() if name != tree]
        if found:
            rows.append((stage, season, _worth(len(found))))
            # The median: one odd note among several trees has no pull at all.
            values.append(float(np.median([note.log_pace for note in found])))
            variances.append(float(np.mean([note.variance for note in found])) / _worth(len(found)))
    at = points(rows)
    return Evidence(at, np.array(values), np.array(variances) + alone(pace, at), (None,) * len(rows))


def _worth(trees: int) -> float:
    """How many trees a mean as sure as their median would be over: 2 in pi of them where they are many."""
    return float(trees) if trees <= 2 else max(2.0, trees * 2.0 / np.pi)


def _joined(a: Evidence, b: Evidence) -> Evidence:
    return Evidence(
        a.at.joined(b.at),
        np.concatenate([a.values, b.values]),
        np.concatenate([a.noise, b.noise]),
        a.notes + b.notes,
    )


def _note_key(note: Note) -> tuple[str, str, int, int, bool, float, str]:
    return note.tree, note.stage, note.season, note.day, note.is_bound, note.log_pace, note.what
