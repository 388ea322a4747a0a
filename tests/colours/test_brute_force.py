"""Message passing against the sum over all states of all branches in all seasons, year by year, all habits of
all branches, and all ways in which a note can be right or wrong."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from math import exp, log

import numpy as np
import pytest
from grown import branch, tree
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from care_planner.colours.belief import believe
from care_planner.colours.lineage import Batch, Bloom, KnownBranch, Lineage
from care_planner.colours.rates import Rates, tree_evidence
from care_planner.colours.slices import cut_into_nodes

NOW = 2027
MOST_STATES = 140_000
HABITS = (0.3, 0.8)
SEASONS = 1.5  # sum of the weights of a season's shares
SLIP = 0.01  # chance that a flower is read one form off
Place = tuple[str, int, int]  # branch or batch, plant, season


def urn(forms: tuple[int, ...], rung: int, habit: float, rungs: int) -> float:
    """The chance of flowers one after another, each drawn as from an urn that remembers (Polya)."""
    darker = rungs - 1 - rung
    weights = [0.0] * rungs
    weights[rung] = SEASONS * (habit if darker else 1.0)
    for form in range(rung + 1, rungs):
        weights[form] = SEASONS * (1 - habit) / darker
    chance = 1.0
    for form in forms:
        chance *= weights[form] / sum(weights)
        weights[form] += 1
    return chance


def as_read(true: int, rungs: int) -> dict[int, float]:
    """As which forms a flower that is misread can be read."""
    near = [form for form in (true - 1, true + 1) if 0 <= form < rungs]
    return {form: 1 / len(near) for form in near}


def noted(counts: tuple[int, ...], full_sun: bool, mistakes: float) -> np.ndarray:
    """The chance [habit, rung] of what a note says: read right, one flower misread, or of any other wood."""
    rungs = len(counts)
    read = tuple(form for form, count in enumerate(counts) for _ in range(count))
    found = np.zeros((len(HABITS), rungs))
    right = np.zeros((len(HABITS), rungs))
    for (h, habit), rung in product(enumerate(HABITS), range(rungs)):
        right[h, rung] = urn(read, rung, habit, rungs)
        # None was misread, or one: in a note of many flowers the one is the likelier.
        none, each = (1 - SLIP) / (1 - SLIP + len(read) * SLIP), SLIP / (1 - SLIP + len(read) * SLIP)
        found[h, rung] = none * right[h, rung]
        for place, form in enumerate(read):
            for true in range(rungs):
                way = as_read(true, rungs).get(form, 0.0) * each
                forms = (*read[:place], true, *read[place + 1 :])
                found[h, rung] += way * urn(forms, rung, habit, rungs)
    wrong = 1 - (1 - mistakes) * (0.5 if full_sun else 1.0)
    return (1 - wrong) * found + wrong * right.mean()


def one_year(darken: float, back: float, rungs: int) -> np.ndarray:
    step = np.zeros((rungs, rungs))
    for a, b in product(range(rungs), repeat=2):
        if b > a:
            step[a, b] = darken / (rungs - 1 - a)
        elif b < a:
            step[a, b] = back / a
    return step + np.diag(1 - step.sum(axis=1))


def places(lineage: Lineage) -> Iterator[tuple[Place, Place | None, Bloom | None]]:
    """Every owner in every season, what it comes from, and what was seen there."""
    since = {b.id: b.since or 0 for b in lineage.branches.values()}
    for b in lineage.branches.values():
        for season in range(since[b.id], NOW + 1):
            before: Place | None = (b.id, 0, season - 1)
            if season == since[b.id]:
                on = b.grows_from
                before = (on, 0, max(season - 1, since[on])) if on else None
            yield (b.id, 0, season), before, b.blooms.get(season)
    for batch in lineage.batches.values():
        for plant, blooms in batch.blooms.items():
            for season in range(batch.taken + 1, NOW + 1):
                begins = season == batch.taken + 1
                before = (batch.branch, 0, batch.taken) if begins else (batch.id, plant, season - 1)
                yield (batch.id, plant, season), before, blooms.get(season)


def chances_of_habits(shows: float) -> list[float]:
    """Bell-shaped on the scale of the logit, around the mean."""
    away = [(log(h / (1 - h)) - log(shows / (1 - shows))) / 0.7 for h in HABITS]
    bell = [exp(-0.5 * a**2) for a in away]
    return [b / sum(bell) for b in bell]


class AllStates:
    """Every state of a tree with its chance, under each setting: wood by place, then habits by owner."""

    def __init__(self, lineage: Lineage, rungs: int, rates: Rates) -> None:
        found = list(places(lineage))
        self.number = {place: i for i, (place, _, _) in enumerate(found)}
        owners = sorted({place[:2] for place, _, _ in found})
        assume(rungs ** len(found) * len(HABITS) ** len(owners) <= MOST_STATES)
        sizes = (rungs,) * len(found) + (len(HABITS),) * len(owners)
        grid = np.indices(sizes).reshape(len(sizes), -1)
        self.states = grid
        habit = {owner: grid[len(found) + i] for i, owner in enumerate(owners)}
        chances = []
        for g, (darken, back) in enumerate(zip(rates.darken, rates.back, strict=True)):
            step = one_year(darken, back, rungs)
            chance = np.ones(grid.shape[1])
            for owner in owners:
                chance *= np.array(chances_of_habits(float(rates.shows[g])))[habit[owner]]
            for i, (place, before, bloom) in enumerate(found):
                chance *= 1 / rungs if before is None else step[grid[self.number[before]], grid[i]]
                if bloom is not None:
                    likely = noted(bloom.counts, bloom.full_sun, float(rates.mistakes[g]))
                    chance *= likely[habit[place[:2]], grid[i]]
            chances.append(chance)
        self.evidence = np.array([chance.sum() for chance in chances])
        joint = sum(w * c / e for w, c, e in zip(rates.weight, chances, self.evidence, strict=True))
        self.chance = joint

    def marginal(self, place: Place, rungs: int) -> np.ndarray:
        return np.bincount(self.states[self.number[place]], self.chance, minlength=rungs)

    def none_gives(self, form: int, branches: list[str]) -> np.ndarray:
        """The states in which none of these branches can give the form now."""
        darker = np.ones(self.states.shape[1], dtype=bool)
        for id in branches:
            darker &= self.states[self.number[id, 0, NOW]] > form
        return darker


@st.composite
def lineages(draw: st.DrawFn) -> tuple[Lineage, int]:
    rungs = draw(st.sampled_from([2, 3]))
    counts = st.tuples(*[st.integers(0, 4)] * rungs)
    first = draw(st.sampled_from([NOW - 2, NOW - 1, NOW]))
    grown: list[KnownBranch] = []
    for number in range(draw(st.integers(1, 5)) + 1):
        on = draw(st.sampled_from([b.id for b in grown])) if grown else ""
        earliest = next((b.since for b in grown if b.id == on), first) or first
        since = draw(st.integers(earliest, NOW)) if grown else first
        seen = draw(st.dictionaries(st.integers(since, NOW), counts.filter(any), max_size=2))
        sunny = draw(st.booleans())
        one = branch("trunk" if not grown else f"b{number}", since, seen, on=on)
        blooms = {season: replace(bloom, full_sun=sunny) for season, bloom in one.blooms.items()}
        grown.append(replace(one, blooms=blooms))
    batches = []
    if first < NOW and draw(st.booleans()):
        donor = draw(st.sampled_from([b.id for b in grown if (b.since or 0) < NOW]))
        taken = max(b.since or 0 for b in grown if b.id == donor)
        blooms = {1: {NOW: Bloom(draw(counts.filter(any)))}}
        batches = [Batch("c1", donor, taken, 3, blooms=blooms)]
    return tree("t", *grown, batches=batches), rungs


def below(lineage: Lineage, id: str) -> set[str]:
    """A branch and all that grows on it."""
    found = {id}
    for b in lineage.branches.values():
        if b.grows_from in found:
            found.add(b.id)
    return found


def two_settings(darken: float, back: float, weight: float = 0.5) -> Rates:
    """One as drawn, and one that is fixed."""
    return Rates(
        np.array([darken, 0.3]), np.array([back, 0.02]), np.array([0.4, 0.6]), np.array([0.08, 0.02]),
        np.array([weight, 1 - weight]), HABITS,
    )  # fmt: skip


@given(lineages(), st.floats(0.01, 0.4), st.floats(0.001, 0.2), st.floats(0.1, 0.9))
@settings(max_examples=60, deadline=None)
def test_all_chances_are_those_of_the_full_sum(
    grown: tuple[Lineage, int], darken: float, back: float, weight: float
) -> None:
    lineage, rungs = grown
    rates = two_settings(darken, back, weight)
    full = AllStates(lineage, rungs, rates)
    ((belief,), _) = believe([lineage], rungs, NOW, rates)
    for id in lineage.branches:
        assert belief.lightest((id, 0)) == pytest.approx(full.marginal((id, 0, NOW), rungs), abs=1e-9)
    for batch in lineage.batches.values():
        for plant in batch.blooms:
            found = belief.lightest((batch.id, plant))
            assert found == pytest.approx(full.marginal((batch.id, plant, NOW), rungs), abs=1e-9)
    # The trunk's flowers are a reserve only where it is all that a person can point at.
    there = [b for b in lineage.branches.values() if b.id != "trunk" or len(lineage.branches) == 1]
    proven = [b.id for b in there if b.blooms]
    for form in range(rungs - 1):
        none = full.none_gives(form, proven)
        assert belief.can_give[form] == pytest.approx(full.chance[~none].sum(), abs=1e-9)
        for id, loss in belief.loss.items():
            rest = [other for other in proven if other not in below(lineage, id)]
            lost = full.none_gives(form, rest) & ~none
            assert loss[form] == pytest.approx(full.chance[lost].sum(), abs=1e-9)


@given(lineages(), st.floats(0.01, 0.4), st.floats(0.001, 0.2))
@settings(max_examples=30, deadline=None)
def test_the_evidence_for_the_rates_is_that_of_the_full_sum(
    grown: tuple[Lineage, int], darken: float, back: float
) -> None:
    lineage, rungs = grown
    rates = two_settings(darken, back)
    full = AllStates(lineage, rungs, rates)
    nodes = cut_into_nodes([lineage], rungs, NOW, HABITS)
    logs = tree_evidence(nodes, rates)[:, 0]
    # What is the same for all rates is left out of both.
    assert logs[0] - logs[1] == pytest.approx(np.log(full.evidence[0] / full.evidence[1]), abs=1e-9)
