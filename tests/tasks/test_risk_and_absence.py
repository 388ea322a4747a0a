"""Days set by a risk, and days on which nobody is there."""

from typing import Any

import numpy as np
import pytest
from one_tree import DUE, REPOT, SHELTER, away, fate, shown, window, years_of
from small_world import (
    outcome,
    rule,
    smooth_record,
    warmer,
)

from care_planner.stages.members import quantile
from care_planner.words.fates import why_not
from care_planner.years.place import aim_of

# People.


def test_nobody_works_while_away() -> None:
    body = rule("work", window("03-01", "03-20"))
    assert shown(outcome(years_of(body, **away(("2021-03-05", "2021-03-14"))), "work")) == ["2021-03-15"]
    before = outcome(years_of(body, **away(("2021-02-25", "2021-03-20"))), "work")
    assert (shown(before), why_not(before.aimed)) == (
        ["2021-03-21"],
        "everyone is away for the whole window; this is the nearest day",
    )


def test_away_for_far_longer_than_the_window_is_said() -> None:
    body = rule("work", window("03-01", "03-20"))
    gone = years_of(body, **away(("2021-02-01", "2021-04-20")))
    assert fate(gone, "work") == "away: everyone is away for the whole window, 1 Mar to 20 Mar 2021"
    assert not outcome(gone, "work").counts
    rounds = rule("work", window("03-01", "03-20") + "repeat: {every_days: 5}")
    gone = years_of(rounds, **away(("2021-02-25", "2021-03-22")))
    assert fate(gone, "work") == "away: everyone is away for the whole window, 1 Mar to 20 Mar 2021"


def test_work_with_a_risk_is_done_before_one_goes_away() -> None:
    """Late, from long before the first frost on: it is done before, however early."""
    body = rule("shelter", SHELTER)
    gone = outcome(years_of(body, **away(("2021-09-20", "2021-12-31"))), "shelter")
    assert shown(gone) == ["2021-09-19"]


# Risk.


def deadline(record: Any = None, risk: float = 0.1, **tree: Any) -> tuple[int, np.ndarray]:
    """The day before snapping to a day off, and the nights of the members, sorted."""
    made = years_of(rule("shelter", SHELTER), tree=tree, record=record, risk={"frost": risk})
    found = outcome(made, "shelter")
    assert found.window is not None
    aim = aim_of(found.rule, found.window, made.shared.risks, -np.inf)
    assert aim is not None
    return aim.wanted.aim, np.sort(found.window.closes) + 1


@pytest.mark.parametrize("risk", [0.05, 0.1, 0.3])
def test_the_deadline_keeps_the_risk_and_no_more(risk: float) -> None:
    last, nights = deadline(risk=risk)
    assert quantile(nights, 0.01) - 1 <= last <= quantile(nights, 0.5)
    assert np.mean(nights <= last) <= risk < np.mean(nights <= last + 1 + 7)


def test_a_more_careful_limit_and_a_colder_bench_shelter_earlier() -> None:
    usual, _ = deadline()
    assert deadline(frost_limit_c=1)[0] < usual
    assert deadline(bench="pocket")[0] < usual
    assert deadline(age="young")[0] < usual
    assert deadline(warmer(smooth_record(), 2.0), frost_limit_c=1)[0] > deadline(frost_limit_c=1)[0]


def test_roots_worked_this_season_shelter_earlier() -> None:
    def limit(tree: dict[str, Any]) -> float:
        years = years_of(REPOT, rule("shelter", SHELTER), tree=tree)
        return years.frost_limit_c(0)

    assert (limit({}), limit(DUE), limit({**DUE, "frost_limit_c": -2})) == (-3.0, 0.0, -2.0)


def test_where_no_frost_comes_there_is_no_shelter() -> None:
    years = years_of(rule("shelter", SHELTER), record=warmer(smooth_record(), 12.0))
    assert fate(years, "shelter") == "rare: it comes in 0% of the weather years only"


def test_bringing_out_waits_until_the_last_frosts_are_rare() -> None:
    body = """
opens: {last_night: {at_most_c: 0}, plus_days: 1}
closes: {of: opens, plus_days: 28}
choose: {earliest_within_risk: frost}
"""
    found = outcome(years_of(rule("out", body)), "out")
    assert found.window is not None
    chosen = found.days[0][1]
    assert np.mean(found.window.opens > chosen) <= 0.1
    assert chosen >= quantile(found.window.opens, 0.5)


def test_a_deadline_in_the_middle_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("care_planner.years.place.floor", lambda place: int(place) + 30)
    with pytest.raises(AssertionError):
        test_the_deadline_keeps_the_risk_and_no_more(0.1)
