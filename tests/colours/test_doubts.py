"""Notes that fit badly, tags that look swapped, and what a doubtful note does to what is kept."""

import numpy as np
import pytest
from grown import Chance, branch, tree

from care_planner.colours.belief import TreeBelief, believe
from care_planner.colours.decisions import must_stay, wanted_form
from care_planner.colours.flowers import read_as
from care_planner.colours.lineage import Batch, Bloom, KnownBranch, Lineage
from care_planner.colours.rates import Rates, starting, tree_evidence
from care_planner.colours.slices import cut_into_nodes
from care_planner.colours.swaps import swaps

WHITE, STRIPED, SOLID = (10, 0, 0), (0, 12, 0), (0, 0, 12)


def of(*branches: KnownBranch, now: int = 2026) -> TreeBelief:
    ((belief,), _) = believe([tree("t", branch("trunk", 2022), *branches)], 3, now)
    return belief


def years(*seen: tuple[int, ...], first: int = 2024) -> dict[int, tuple[int, ...]]:
    return dict(enumerate(seen, first))


def doubts(belief: TreeBelief) -> list[tuple[str, int, bool]]:
    return [(one.owner[0], one.season, one.is_lighter) for one in belief.doubts]


def test_a_dark_note_between_light_ones_is_doubtful() -> None:
    assert doubts(of(branch("a", 2023, years(WHITE, SOLID, WHITE)))) == [("a", 2025, False)]


def test_a_light_note_among_dark_ones_is_doubtful() -> None:
    dark = branch("b", 2023, years(SOLID, SOLID, SOLID))
    assert doubts(of(branch("a", 2023, years(SOLID, SOLID, WHITE)), dark)) == [("a", 2026, True)]


def test_notes_that_agree_are_not_doubtful() -> None:
    light, dark = branch("a", 2023, years(WHITE, WHITE, WHITE)), branch("b", 2023, years(SOLID, SOLID, SOLID))
    assert doubts(of(light, dark)) == []
    # Wood that darkens once and stays so is what wood does.
    assert doubts(of(branch("a", 2022, years(WHITE, WHITE, SOLID, SOLID, first=2022)), dark, now=2025)) == []


def test_one_flower_read_one_form_off_does_not_make_a_branch_lighter() -> None:
    dark = branch("b", 2023, years(SOLID, SOLID, SOLID))
    belief = of(branch("a", 2023, years(SOLID, SOLID, (0, 1, 11))), dark)
    assert belief.gives(("a", 0))[1] < 0.1
    assert doubts(belief) == [("a", 2026, True)]


def swapped_in_2025() -> tuple[KnownBranch, KnownBranch]:
    return (
        branch("a", 2023, years(WHITE, SOLID, WHITE)),
        branch("b", 2023, years(SOLID, WHITE, SOLID)),
    )


def test_two_tags_that_look_swapped() -> None:
    belief = of(*swapped_in_2025(), branch("c", 2023, years(SOLID, SOLID, SOLID)))
    (swap,) = swaps(belief, 3, 2026)
    assert (swap.season, swap.branches) == (2025, ("a", "b"))
    assert swap.times > 30


def test_nothing_looks_swapped_where_notes_agree_or_one_alone_is_odd() -> None:
    steady = branch("b", 2023, years(SOLID, SOLID, SOLID)), branch("c", 2023, years(SOLID, SOLID, SOLID))
    assert swaps(of(branch("a", 2023, years(WHITE, WHITE, WHITE)), *steady), 3, 2026) == ()
    # One dark note too many: to exchange it would give another branch a light one too many.
    assert swaps(of(branch("a", 2023, years(WHITE, SOLID, WHITE)), *steady), 3, 2026) == ()


def test_the_form_to_keep_is_not_the_lightest_ever_noted() -> None:
    dark = [branch(id, 2023, years(STRIPED, STRIPED, STRIPED)) for id in "bcd"]
    once = branch("a", 2023, years(SOLID, SOLID, (1, 0, 11)))
    assert wanted_form(of(once, *dark)) == 1
    firm = branch("a", 2023, years(WHITE, WHITE, WHITE))
    assert wanted_form(of(firm, *dark)) == 0


def test_either_reading_of_a_doubtful_note_protects() -> None:
    """If the white note of `a` is right, `a` must stay; if it is wrong, the one striped branch must."""
    solid = [branch(id, 2023, years(SOLID, SOLID, SOLID)) for id in "cd"]
    belief = of(
        branch("a", 2023, years(SOLID, SOLID, WHITE)),
        branch("b", 2023, years(STRIPED, STRIPED, STRIPED)),
        *solid,
    )
    assert 0.1 < belief.gives(("a", 0))[0] < 0.99
    assert {keep.branches for keep in must_stay(belief)} >= {("a",), ("b",)}


def test_mistakes_are_learnt() -> None:
    good = [branch(id, 2020, years(*[WHITE if id < "c" else SOLID] * 6, first=2020)) for id in "abcd"]
    bad = []
    for number, id in enumerate("abcd"):
        seen = [WHITE if (id < "c") != (i == number + 1) else SOLID for i in range(6)]
        bad.append(branch(id, 2020, years(*seen, first=2020)))
    lineages = ([tree("t", branch("trunk", 2019), *part)] for part in (good, bad))
    (_, careful), (_, careless) = (believe(one, 3, 2026) for one in lineages)
    assert careful.mean("mistakes") < starting().mean("mistakes") < careless.mean("mistakes")


def test_how_much_of_its_own_form_wood_shows_is_learnt() -> None:
    def shows(seen: tuple[int, ...]) -> float:
        branches = [branch(f"b{i}", 2021, years(*[seen] * 5, first=2021)) for i in range(6)]
        return believe([tree("t", branch("trunk", 2020), *branches)], 3, 2026)[1].mean("shows")

    assert shows((2, 5, 5)) < shows((9, 2, 1)) - 0.1


def test_seasons_of_one_branch_share_their_habit() -> None:
    """Light wood that showed few light flowers twice may do so a third time."""
    shy, bold = (2, 0, 20), (20, 0, 2)

    def still_light(seen: tuple[int, ...]) -> float:
        seasons = years(seen, seen, (0, 0, 9))
        return float(of(branch("a", 2023, seasons)).gives(("a", 0))[0])

    assert still_light(shy) > still_light(bold) - 0.02
    ((told,), _) = believe(
        [tree("t", branch("trunk", 2022), branch("a", 2023, years(shy, shy, (0, 0, 9))))], 3, 2026, fixed(0.0)
    )
    ((bold_told,), _) = believe(
        [tree("t", branch("trunk", 2022), branch("a", 2023, years(bold, bold, (0, 0, 9))))],
        3,
        2026,
        fixed(0.0),
    )
    assert told.gives(("a", 0))[0] > bold_told.gives(("a", 0))[0] + 0.1


def fixed(mistakes: float) -> Rates:
    """Two habits, known rates."""
    return Rates(*(np.array([one]) for one in (0.05, 0.003, 0.5, mistakes, 1.0)), habits=(0.1, 0.9))


def plants(count: int) -> Lineage:
    blooms = {i: {2026: Bloom((2, 0, 1) if i % 2 else (0, 0, 4))} for i in range(1, count + 1)}
    return tree(
        "t", branch("trunk", 2024, {2024: WHITE}), batches=[Batch("c", "trunk", 2024, count, blooms=blooms)]
    )


@pytest.mark.parametrize("count", [20, 2000])
def test_no_number_of_plants_of_one_mother_makes_numbers_vanish(count: int) -> None:
    ((belief,), rates) = believe([plants(count)], 3, 2026)
    assert np.isfinite(rates.weight).all()
    assert belief.gives(("c", 1))[0] > 0.5 > belief.gives(("c", 2))[0]
    # Half of the plants cannot give the form: such wood darkens fast, whatever the number of plants.
    assert rates.quantile("darken", 0.5) > 0.1


@pytest.mark.parametrize("count", [5, 200, 3000])
def test_any_number_of_branches_on_one_trunk_gives_the_evidence_added_up_in_logs(count: int) -> None:
    """A star needs no messages: given the trunk's wood its branches are independent, so logs can be added."""
    habit, mistakes = 2 / 3, 0.03
    chance = Chance(3, 0.1, 0.003, 3)
    seen = [chance.flowers(chance.year(0)) for _ in range(count)]
    trunk = (5, 1, 1)
    branches = [branch(f"b{i:04}", 2026, {2026: counts}) for i, counts in enumerate(seen)]
    nodes = cut_into_nodes([tree("t", branch("trunk", 2025, {2025: trunk}), *branches)], 3, 2026, (habit,))
    darken, back = np.array([0.02, 0.1, 0.3]), np.array([0.003, 0.003, 0.02])
    settings = Rates(darken, back, np.full(3, habit), np.full(3, mistakes), np.full(3, 1 / 3), (habit,))
    found = tree_evidence(nodes, settings)[:, 0]

    likely = read_as([trunk, *seen], [False] * (count + 1), [habit]).likelihood(mistakes)[:, 0]
    expected = []
    for d, b in zip(darken, back, strict=True):
        step = np.array([[1 - d, d / 2, d / 2], [b, 1 - b - d, d], [b / 2, b / 2, 1 - b]])
        logs = np.log(likely[0] / 3) + np.log(likely[1:] @ step.T).sum(axis=0)
        expected.append(logs.max() + np.log(np.exp(logs - logs.max()).sum()))
    assert np.isfinite(found).all()
    assert found == pytest.approx(np.array(expected), abs=1e-6)
