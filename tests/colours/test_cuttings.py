"""How many cuttings to take, and what to do with those that are growing."""

from math import comb

import numpy as np
import pytest
from grown import branch, tree
from young import AT_RISK, FIRST_ONLY, LIKELIER, decisions

from care_planner.colours.belief import TreeBelief, believe
from care_planner.colours.cuttings import (
    advise,
    chance_of_cutting,
    cuttings_needed,
    rooting,
    to_look_at,
    to_take,
    unproven,
    verdict,
)
from care_planner.colours.lineage import Batch, Bloom, Lineage
from care_planner.colours.rates import known

RATES = known(0.1, 0.003)
CERTAIN = np.array([[1.0, 1.0]])  # every cutting roots
SOLID, WHITE = (0, 0, 9), (9, 0, 0)


def of(lineage: Lineage, now: int = 2027) -> TreeBelief:
    ((belief,), _) = believe([lineage], 3, now, RATES)
    return belief


def at_least(wanted: int, of_them: int, chance: float) -> float:
    return sum(
        comb(of_them, k) * chance**k * (1 - chance) ** (of_them - k) for k in range(wanted, of_them + 1)
    )


@pytest.mark.parametrize(("wanted", "roots", "count"), [(1, 1.0, 2), (3, 1.0, 5), (3, 0.5, 12)])
def test_the_number_of_cuttings_is_that_of_the_binomial(wanted: int, roots: float, count: int) -> None:
    # Light for certain; a year on 1 - 1/10 = 0.9 of the cuttings are.
    belief = of(tree("t", branch("trunk", 2027, {2027: WHITE})))
    assert chance_of_cutting(belief, "trunk", 0) == pytest.approx(0.9)
    chance = 0.9 * roots
    found, reached = cuttings_needed(belief, "trunk", 0, wanted, 0.05, np.array([[roots, 1.0]]))
    assert found == count
    assert reached == pytest.approx(at_least(wanted, count, chance), abs=1e-9)
    assert at_least(wanted, count - 1, chance) < 0.95 <= reached


def test_cuttings_of_one_branch_share_its_fate() -> None:
    """If the branch itself may be dark, more cuttings do not help beyond that doubt."""
    belief = of(tree("t", branch("trunk", 2026, {2026: WHITE}), branch("a", 2027, {2027: (0, 0, 3)})))
    light = belief.gives(("a", 0))[0]
    count, reached = cuttings_needed(belief, "a", 0, 1, 0.01, CERTAIN)
    assert count is None
    assert reached == pytest.approx(light, abs=0.6 * (1 - light))  # the rest goes back too seldom


def test_the_branches_to_take_from_are_the_lightest_seen() -> None:
    lineage = tree(
        "t",
        branch("trunk", 2025),
        branch("dark", 2026, {2027: SOLID}),
        branch("light", 2026, {2027: WHITE}),
        branch("unseen", 2026),
    )
    takes = to_take(of(lineage), 2, CERTAIN)
    assert [take.branch for take in takes] == ["light", "dark"]
    assert takes[0].count == 3 and takes[1].count is None


def test_rooting_is_learnt_from_batches() -> None:
    def mean(lineages: list[Lineage]) -> float:
        roots = rooting(lineages)
        return float(roots[:, 0] @ roots[:, 1])

    batch = Batch("c", "trunk", 2025, 30, rooted=6)
    assert mean([]) == pytest.approx(2 / 3, abs=1e-3)
    learnt = mean([tree("t", branch("trunk", 2025), batches=[batch])])
    assert learnt == pytest.approx((2 + 6) / (3 + 30), abs=1e-3)  # the mean of a beta distribution


def test_batches_that_died_count_for_rooting_too() -> None:
    """Nine of twelve rooted, and two batches of twelve died unrooted: 9 of 36, not three of four."""
    batches = [Batch("a", "trunk", 2025, 12, rooted=9)]
    batches += [Batch(id, "trunk", 2025, 12, dead=12) for id in "bc"]
    roots = rooting([tree("t", branch("trunk", 2025), batches=batches)])
    assert float(roots[:, 0] @ roots[:, 1]) == pytest.approx((2 + 9) / (3 + 36), abs=1e-3)
    # Some lived without a count: those that flowered rooted, those that died did not.
    blooms = {plant: {2026: Bloom(SOLID)} for plant in (1, 2)}
    some = [Batch("a", "trunk", 2024, 12, dead=5, blooms=blooms)]
    roots = rooting([tree("t", branch("trunk", 2024), batches=some)])
    assert float(roots[:, 0] @ roots[:, 1]) == pytest.approx((2 + 2) / (3 + 7), abs=1e-3)


def test_more_cuttings_than_a_grower_can_take_are_no_advice(monkeypatch: pytest.MonkeyPatch) -> None:
    """White last season, not seen in this: nine in ten that it still is, and the risk hardly more."""
    belief = of(tree("t", branch("trunk", 2025), branch("a", 2026, {2026: WHITE})))
    risk = 1 - belief.gives(("a", 0))[0] + 0.008
    assert cuttings_needed(belief, "a", 0, 1, risk, rooting([]))[0] is None
    monkeypatch.setattr("care_planner.colours.cuttings.MOST", 200)
    count, _ = cuttings_needed(belief, "a", 0, 1, risk, rooting([]))
    assert count is not None and count > 13


def test_what_holds_back_is_told_apart() -> None:
    """Of a sure branch the roots do, of a doubtful one the branch."""
    sure = of(tree("t", branch("trunk", 2026), branch("a", 2027, {2027: WHITE})))
    seldom = np.array([[0.05, 1.0]])
    (take,) = to_take(sure, 1, seldom, 0.1)
    assert take.count is None and take.roots_too_seldom
    unsure = of(tree("t", branch("trunk", 2024), branch("a", 2025, {2025: WHITE})))
    (take,) = to_take(unsure, 1, CERTAIN, 0.02)
    assert take.count is None and not take.roots_too_seldom


def batch_of(blooms: dict[int, dict[int, tuple[int, ...]]], **more: object) -> Lineage:
    seen = {plant: {s: Bloom(c) for s, c in seasons.items()} for plant, seasons in blooms.items()}
    batch = Batch("c7", "trunk", 2024, 6, blooms=seen, **more)  # type: ignore[arg-type]
    return tree("t", branch("trunk", 2024, {2024: WHITE}), batches=[batch])


def test_common_practice_nothing_is_decided_before_the_first_flower() -> None:
    lineage = batch_of({})
    (advice,) = advise(of(lineage))
    assert (advice.plant, advice.what) == (0, "grow on")
    assert [b.id for b in to_look_at(lineage, 2025)] == ["c7"]
    assert to_look_at(lineage, 2024) == []


def test_keep_grow_on_give_away() -> None:
    lineage = batch_of(
        {1: {2026: WHITE, 2027: WHITE}, 2: {2026: SOLID, 2027: SOLID}, 3: {2027: (0, 0, 1)}}, rooted=5
    )
    advice = {one.plant: one for one in advise(of(lineage))}
    assert [advice[plant].what for plant in (1, 2, 3, 0)] == ["keep", "give away", "grow on", "grow on"]
    assert advice[1].chance == pytest.approx(1.0) and advice[3].flowers == 1
    assert unproven(lineage.batches["c7"]) == 2


def test_plants_that_are_gone_are_not_judged() -> None:
    lineage = batch_of({1: {2027: SOLID}}, fates={1: "given-away", 2: "dead"}, dead=1)
    assert [one.plant for one in advise(of(lineage))] == [0]
    assert unproven(lineage.batches["c7"]) == 3


@pytest.mark.parametrize(
    ("chance", "what"), [(0.1, "give away"), (0.11, "grow on"), (0.89, "grow on"), (0.9, "keep")]
)
def test_verdicts_at_their_edges(chance: float, what: str) -> None:
    assert verdict(chance, 0.1) == what


def test_decisions_beat_the_first_flower_alone() -> None:
    """On plants grown by chance, fixed by their seeds; tests/benchmarks/colour_rates.py says by how much."""
    ways = decisions(seasons=2, collections=4)
    first, likelier, at_risk = (ways[way] for way in (FIRST_ONLY, LIKELIER, AT_RISK))
    assert likelier.wrong < first.wrong / 2
    assert at_risk.wrong < likelier.wrong and at_risk.put_off > 0
    assert likelier.lost < first.lost / 2
