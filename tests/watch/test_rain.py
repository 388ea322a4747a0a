"""Rain of the next days: works that want a dry day are told of one, looks that want rain are named."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from small_world import FLOWERING, collection, day, pack_text, rule, rulebook, smooth_record

from care_planner.climate.outlook import Outlook, OutlookDay
from care_planner.outlook.watch.rain import RAIN_DAYS_AHEAD, WET_MM, WetWork, rain_ahead
from care_planner.plan import make_plan

TODAY = day("2008-02-01")
REPOT = rule(
    "repot",
    "opens: {stage: bud-swell}\ncloses: {of: opens, plus_days: 9}\nchoose: mid\nheavy: yes",
    kind="roots",
)
RULES = rulebook(pack_text(FLOWERING, REPOT))
PLAN = make_plan(collection({"taxon": "flowering-tree"}), (), smooth_record(), RULES, TODAY)
(WORK,) = [task for task in PLAN.tasks if task.rule == "repot" and task.season == 2008]


def outlook(rain, today):
    days = tuple(OutlookDay(today + n, n, 5.0, 1.4, 12.0, 1.4, rain_mm=mm) for n, mm in enumerate(rain))
    return Outlook("file", today, datetime(2008, 4, 10, tzinfo=UTC), days)


def ahead(rain, tasks=(WORK,)):
    """The work lies on the third of the days."""
    return rain_ahead(replace(PLAN, tasks=list(tasks)), outlook(rain, WORK.day - 2))


def test_a_work_on_a_wet_day_is_told_the_dry_days_of_its_window():
    found = ahead([0, 0.4, 12, 1, 0, 30])
    assert found.days == ((WORK.day, 12), (WORK.day + 3, 30))
    assert found.works == (
        WetWork(WORK.title, ("tree-1",), WORK.day, 12, (WORK.day - 2, WORK.day - 1, WORK.day + 2)),
    )


def test_a_dry_day_outside_its_window_is_not_offered():
    window = replace(WORK.window, opens=WORK.day, closes=WORK.day)
    (only,) = ahead([0, 0, 12, 0], [replace(WORK, window=window)]).works
    assert only.dry_days == ()


@pytest.mark.parametrize("rain", [[0, 0, WET_MM - 0.1, 0], [float("nan")] * 4, []])
def test_little_rain_or_none_told_is_no_reason(rain):
    assert ahead(rain).days == () and ahead(rain).works == ()


def test_rain_too_far_ahead_says_nothing():
    assert ahead([0] * (RAIN_DAYS_AHEAD + 1) + [40]).days == ()


def test_other_works_do_not_mind_and_a_look_for_blight_comes_after_it():
    feed = replace(WORK, category="feeding")
    look = replace(
        WORK, category="health", way="watch", title="Look for petal blight", day=WORK.day - 9, until=None
    )
    over = replace(look, title="Over", until=WORK.day - 1)
    found = ahead([0, 0, 12, 0], [feed, look, over])
    assert found.works == () and found.looks == (("Look for petal blight", ("tree-1",)),)
