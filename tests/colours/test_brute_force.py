"""Message passing against the sum over all states of all branches in all seasons, year by year."""

from collections.abc import Iterator
from itertools import product

import numpy as np
import pytest
from grown import branch, tree
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from care_planner.colours.belief import believe
from care_planner.colours.flowers import DARKER, OWN
from care_planner.colours.lineage import Batch, Bloom, KnownBranch, Lineage
from care_planner.colours.rates import Rates, tree_evidence
from care_planner.colours.slices import cut_into_nodes

NOW = 2027
MOST_STATES = 140_000
Place = tuple[str, int, int]  # branch or batch, plant, season


def urn(counts: tuple[int, ...], rung: int) -> float:
    """The chance of flowers one after another, each drawn as from an urn that remembers (Polya)."""
    darker = len(counts) - 1 - rung
    weights = [0.0] * rung + [OWN] + [DARKER / darker] * darker if darker else [0.0] * rung + [1.0]
    chance = 1.0
    for form, count in enumerate(counts):
        for _ in range(count):
            chance *= weights[form] / sum(weights)
            weights[form] += 1
    return chance


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


class AllStates:
    """Every state of a tree with its chance, under each pair of rates."""

    def __init__(self, lineage: Lineage, rungs: int, rates: Rates) -> None:
        found = list(places(lineage))
        self.number = {place: i for i, (place, _, _) in enumerate(found)}
        assume(rungs ** len(found) <= MOST_STATES)
        grid = np.indices((rungs,) * len(found)).reshape(len(found), -1)
        self.states = grid
        chances = []
        for darken, back in zip(rates.darken, rates.back, strict=True):
            step = one_year(darken, back, rungs)
            chance = np.ones(grid.shape[1])
            for i, (_, before, bloom) in enumerate(found):
                chance *= 1 / rungs if before is None else step[grid[self.number[before]], grid[i]]
                if bloom is not None:
                    chance *= np.array([urn(bloom.counts, rung) for rung in range(rungs)])[grid[i]]
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
    for number in range(draw(st.integers(1, 8)) + 1):
        on = draw(st.sampled_from([b.id for b in grown])) if grown else ""
        earliest = next((b.since for b in grown if b.id == on), first) or first
        since = draw(st.integers(earliest, NOW)) if grown else first
        seen = draw(st.dictionaries(st.integers(since, NOW), counts.filter(any), max_size=2))
        grown.append(branch("trunk" if not grown else f"b{number}", since, seen, on=on))
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


@given(lineages(), st.floats(0.01, 0.4), st.floats(0.001, 0.2), st.floats(0.1, 0.9))
@settings(max_examples=60, deadline=None)
def test_all_chances_are_those_of_the_full_sum(
    grown: tuple[Lineage, int], darken: float, back: float, share: float
) -> None:
    lineage, rungs = grown
    rates = Rates(np.array([darken, 0.3]), np.array([back, 0.02]), np.array([share, 1 - share]))
    full = AllStates(lineage, rungs, rates)
    ((belief,), _) = believe([lineage], rungs, NOW, rates)
    for id in lineage.branches:
        assert belief.lightest((id, 0)) == pytest.approx(full.marginal((id, 0, NOW), rungs), abs=1e-9)
    for batch in lineage.batches.values():
        for plant in batch.blooms:
            found = belief.lightest((batch.id, plant))
            assert found == pytest.approx(full.marginal((batch.id, plant, NOW), rungs), abs=1e-9)
    proven = [b.id for b in lineage.branches.values() if b.blooms]
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
    rates = Rates(np.array([darken, 0.2]), np.array([back, 0.01]), np.array([0.5, 0.5]))
    full = AllStates(lineage, rungs, rates)
    nodes = cut_into_nodes([lineage], rungs, NOW)
    logs = tree_evidence(nodes, rates.darken, rates.back)[:, 0]
    # What is the same for all rates is left out of both.
    assert logs[0] - logs[1] == pytest.approx(np.log(full.evidence[0] / full.evidence[1]), abs=1e-9)
