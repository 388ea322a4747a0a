"""Which branches must stay, what to tag, where colour belongs, and whether a name can be carried."""

from dataclasses import replace

import pytest
from grown import branch, tree

from care_planner.colours.belief import TreeBelief, believe
from care_planner.colours.decisions import (
    against_display,
    likely_form,
    must_stay,
    to_tag,
    wanted_form,
    worth,
)
from care_planner.colours.lineage import KnownBranch, Lineage
from care_planner.colours.rates import known

RATES = known(0.05, 0.003)
WHITE, STRIPED, SOLID = (12, 0, 0), (0, 12, 0), (0, 0, 12)


def of(lineage: Lineage, now: int = 2027) -> TreeBelief:
    ((belief,), _) = believe([lineage], 3, now, RATES)
    return belief


def one_light(*more: KnownBranch, variety: tuple[int, ...] = ()) -> Lineage:
    return tree(
        "t",
        branch("trunk", 2024),
        branch("light", 2025, {2026: WHITE, 2027: WHITE}),
        branch("dark", 2025, {2026: SOLID, 2027: SOLID}),
        branch("new", 2027),
        *more,
        variety=variety,
    )


def test_the_last_light_branch_must_stay_and_a_dark_one_need_not() -> None:
    (keep,) = must_stay(of(one_light()))
    assert (keep.branches, keep.form) == (("light",), 0)
    assert keep.chance > 0.9


def test_a_side_branch_does_not_save_the_branch_it_grows_on() -> None:
    lineage = one_light(branch("twig", 2026, {2027: WHITE}, on="light"))
    alone = [keep for keep in must_stay(of(lineage)) if len(keep.branches) == 1]
    assert [keep.branches for keep in alone] == [("light",)]


def test_two_light_branches_are_named_together() -> None:
    lineage = one_light(branch("light-2", 2025, {2027: WHITE}))
    (keep,) = must_stay(of(lineage))
    assert (keep.branches, keep.form) == (("light", "light-2"), 0)


def test_a_branch_that_is_gone_is_no_reserve() -> None:
    gone = replace(branch("light-2", 2025, {2026: WHITE}), lost=2026)
    (keep,) = must_stay(of(one_light(gone)))
    assert keep.branches == ("light",)


def test_unseen_branches_are_no_reserve_and_wait() -> None:
    belief = of(one_light())
    assert "new" not in {b for keep in must_stay(belief) for b in keep.branches}


def test_tags_go_first_where_least_is_known_and_not_where_this_season_is_noted() -> None:
    assert [b.id for b in to_tag(of(one_light()), 2027)] == ["new"]
    later = to_tag(of(one_light(), 2028), 2028)
    assert later[0].id == "new" and {b.id for b in later} == {"light", "dark", "new"}


def placed(*where: tuple[str, tuple[int, ...], str, str]) -> Lineage:
    return tree("t", branch("trunk", 2025), *(
        replace(branch(id, 2026, {2027: seen}), height=height, depth=depth) for id, seen, height, depth in where  # noqa: E501
    ))  # fmt: skip


def test_common_practice_dark_belongs_inside_and_low_light_outside_and_high() -> None:
    against = placed(
        ("a", SOLID, "high", "outside"), ("b", WHITE, "low", "inside"), ("c", STRIPED, "middle", "outside")
    )
    assert [(b.id, too_dark) for b, too_dark in against_display(of(against))] == [("a", True), ("b", False)]
    good = placed(("a", WHITE, "high", ""), ("b", SOLID, "low", ""), ("c", SOLID, "high", "inside"))
    assert against_display(of(good)) == []


def test_a_name_is_carried_while_the_lightest_form_can_still_come() -> None:
    carried = worth(of(one_light(variety=(0, 1, 2))))
    assert carried is not None and carried.carries_the_name
    assert (carried.form, carried.shown, carried.missing) == (0, (0, 2), (1,))
    dark = tree("t", branch("trunk", 2025), branch("a", 2026, {2026: SOLID, 2027: SOLID}), variety=(0, 2))
    lost = worth(of(dark))
    assert lost is not None and not lost.carries_the_name
    assert worth(of(one_light())) is None


def test_the_form_to_keep_is_the_variety_s_lightest_or_the_lightest_seen() -> None:
    assert wanted_form(of(one_light(variety=(1, 2)))) == 1
    assert wanted_form(of(one_light())) == 0
    assert wanted_form(of(tree("t", branch("trunk", 2025)))) is None


@pytest.mark.parametrize(("seen", "rung"), [(WHITE, 0), (STRIPED, 1), (SOLID, 2)])
def test_the_likely_form(seen: tuple[int, ...], rung: int) -> None:
    assert likely_form(of(tree("t", branch("trunk", 2027, {2027: seen}))), ("trunk", 0)) == rung
