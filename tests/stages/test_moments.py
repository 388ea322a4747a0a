"""Each kind of moment on weather whose answer can be found on paper."""

import math
from datetime import date

import numpy as np
import pytest
from hand_made import FIRST, HandMade, day, frame, mild, moment, view, weather, when

from care_planner.climate.day_length import day_length_h
from care_planner.collection.site import Bench
from care_planner.rulebook.taxon import BloomCurve
from care_planner.spans import HALF_YEAR_DAYS, NEVER
from care_planner.stages.moments import evaluate

BASE_5 = {"method": "average", "base_c": 5}  # 10 degree-days a day in mild weather
HOURS = {"method": "hours", "low_c": 0, "high_c": 7}
CURVE = BloomCurve.model_validate(
    {
        "since": "first-flower",
        "by": BASE_5,
        "points": [{"open": "0.1", "sum": "0"}, {"open": "0.5", "sum": "40"}, {"open": "1", "sum": "90"}],
        "source": "made up",
    }
)


def cold_until(text: str, night: float = -5.0) -> HandMade:
    """Frost each night until a date of 2021, and mild again after it; mild before October 2020."""
    return view(lambda d: (night, 20.0) if date(2020, 10, 1) <= d <= date.fromisoformat(text) else mild(d))


# Named days.


def test_month_day_stands_in_the_season_and_is_moved_by_days() -> None:
    assert when(view(), month_day="03-01") == "2021-03-01"
    assert when(view(), month_day="03-01", plus_days=-1) == "2021-02-28"
    assert when(view(), month_day="10-01", season="previous") == "2020-10-01"
    assert when(view(), step=1, month_day="03-01") == "2022-03-01"
    assert when(view(), month_day="02-29") == "2021-02-28"


def test_month_day_lies_half_a_year_later_in_the_south() -> None:
    south = view(frame=frame(-50.0))
    found = evaluate(moment(month_day="03-01"), 0, south)[0]
    assert found == day("2021-03-01") + HALF_YEAR_DAYS


def test_stages_works_and_signs_of_each_season() -> None:
    told = view(
        stages={("flush", 0): day("2021-05-01"), ("flush", -1): day("2020-05-02")},
        works={("repot", 0): day("2021-03-20")},
        signs={("galls", 0): day("2021-06-01")},
    )
    assert when(told, stage="flush") == "2021-05-01"
    assert when(told, stage="flush", season="previous", plus_days=3) == "2020-05-05"
    assert math.isnan(float(when(told, stage="flush", season="next")))
    assert when(told, work="repot") == "2021-03-20"
    assert when(told, work="repot", season="next") == NEVER
    assert when(told, sign="galls") == "2021-06-01"
    assert when(told, sign="weevils") == NEVER


def test_last_cut_is_long_ago_without_one() -> None:
    assert when(view(cuts={0: day("2021-06-10")}), last_cut="any") == "2021-06-10"
    assert when(view(), last_cut="any") == -math.inf
    assert when(view(), latest=[{"last_cut": "any"}, {"month_day": "05-01"}]) == "2021-05-01"


# Sums.


def test_warmth_is_summed_from_its_start_in() -> None:
    warmth = {"by": BASE_5, "sum": 100}
    assert when(view(), warmth=warmth, since={"month_day": "02-01"}) == "2021-02-10"
    assert when(view(), warmth={"by": BASE_5, "sum": 101}, since={"month_day": "02-01"}) == "2021-02-11"
    assert when(view(), warmth=warmth, since={"month_day": "02-01", "plus_days": 5}) == "2021-02-15"


def test_pace_multiplies_the_warmth_of_a_tree_s_own_stages_only() -> None:
    slow = view(pace=np.array([1.5]))
    wanted = moment(warmth={"by": BASE_5, "sum": 100}, since={"month_day": "02-01"})
    assert evaluate(wanted, 0, slow, pace=slow.pace)[0] == day("2021-02-15")
    assert evaluate(wanted, 0, slow)[0] == day("2021-02-10")


def test_cold_is_summed_below_its_base_of_the_daily_mean() -> None:
    """Mild weather has a mean of 15 degC: 5 degree-days a day below 20, none below 15."""
    cold = {"by": {"method": "cold", "base_c": 20}, "sum": 50}
    assert when(view(), warmth=cold, since={"month_day": "09-01"}) == "2021-09-10"
    assert when(view(), warmth=cold | {"sum": 51}, since={"month_day": "09-01"}) == "2021-09-11"
    none = {"by": {"method": "cold", "base_c": 15}, "sum": 1}
    assert when(view(), warmth=none, since={"month_day": "09-01"}) == NEVER
    with pytest.raises(ValueError, match="cold takes base_c alone, not upper_c"):
        moment(warmth={"by": {"method": "cold", "base_c": 5, "upper_c": 20}, "sum": 1}, since={"stage": "x"})


def test_warmth_that_comes_too_late_never_comes() -> None:
    """45 days into the next season a stage of this one is given up."""
    sum_until = 10 * (day("2022-02-14") - day("2021-02-01") + 1)
    since = {"month_day": "02-01"}
    assert when(view(), warmth={"by": BASE_5, "sum": sum_until}, since=since) == "2022-02-14"
    assert when(view(), warmth={"by": BASE_5, "sum": sum_until + 10}, since=since) == NEVER


def test_warmth_from_a_start_that_never_comes_or_is_not_known() -> None:
    assert when(view(), warmth={"by": BASE_5, "sum": 10}, since={"work": "repot"}) == NEVER
    assert math.isnan(float(when(view(), warmth={"by": BASE_5, "sum": 10}, since={"stage": "flush"})))


def test_a_missing_day_inside_the_sum_makes_it_unknown() -> None:
    hole = view(lambda d: (math.nan, math.nan) if d == date(2021, 2, 4) else mild(d))
    warmth = {"by": BASE_5, "sum": 100}
    assert math.isnan(float(when(hole, warmth=warmth, since={"month_day": "02-01"})))
    assert when(hole, warmth=warmth, since={"month_day": "02-05"}) == "2021-02-14"
    # Reached before the hole.
    assert when(hole, warmth={"by": BASE_5, "sum": 30}, since={"month_day": "02-01"}) == "2021-02-03"


def test_chill_hours_are_summed() -> None:
    cool = view(lambda d: (4.0, 4.0) if d >= date(2020, 11, 1) else mild(d))
    since = {"month_day": "10-15", "season": "previous"}
    assert when(cool, chill={"by": HOURS, "sum": 240}, since=since) == "2020-11-10"
    assert when(view(), chill={"by": HOURS, "sum": 24}, since=since) == NEVER


def less_chill(chill_days: int, sum_c: float = 100) -> str | float:
    """Warmth from 1 March after so many days of full chill in February; without any it takes twice as much.

    Twenty such days (480 h) are enough.
    """
    start = date(2021, 2, 1).toordinal()
    cold = range(start, start + chill_days)
    made = view(lambda d: (4.0, 4.0) if d.toordinal() in cold else mild(d))
    less = {"chill": HOURS, "enough": 480, "at_most_times": 2, "since": "10-01"}
    return when(made, warmth={"by": BASE_5, "sum": sum_c, "less_chill": less}, since={"month_day": "03-01"})


def test_missing_chill_raises_the_warmth_needed_but_forbids_nothing() -> None:
    # The evening after the last cold day is mild: n days give n - 1 whole ones and a part.
    assert less_chill(21) == less_chill(25) == "2021-03-10"
    assert less_chill(11) == "2021-03-15"  # half the chill, one and a half times the warmth
    assert less_chill(0) == "2021-03-20"


def test_chill_that_still_gathers_lowers_the_need() -> None:
    """From 11 March on 24 h of chill a day beside 10 degree-days: need 200 - 5 a day meets 100 + ..."""
    chill = {"method": "hours", "low_c": 0, "high_c": 30}  # every mild hour counts
    less = {"chill": chill, "enough": 24 * 40, "at_most_times": 2, "since": "02-01", "since_season": "this"}
    warmth = {"by": BASE_5, "sum": 200, "less_chill": less}
    # n days after 1 Feb: gained 10 n, needed 200 * (2 - n / 40) = 400 - 5 n: equal at n = 26.7.
    assert when(view(), warmth=warmth, since={"month_day": "02-01"}) == "2021-02-27"


def test_warmth_with_chill_from_a_start_that_never_comes() -> None:
    less = {"chill": HOURS, "enough": 480, "at_most_times": 2, "since": "10-01"}
    warmth = {"by": BASE_5, "sum": 100, "less_chill": less}
    assert when(view(), warmth=warmth, since={"work": "repot"}) == NEVER
    assert when(view(), warmth=warmth, since={"month_day": "12-31", "plus_days": 60}) == NEVER
    assert math.isnan(float(when(view(), warmth=warmth, since={"stage": "flush"})))


def test_missing_chill_days_make_it_unknown() -> None:
    hole = view(lambda d: (math.nan, math.nan) if d == date(2020, 12, 1) else mild(d))
    less = {"chill": HOURS, "enough": 480, "at_most_times": 2, "since": "10-01"}
    warmth = {"by": BASE_5, "sum": 100, "less_chill": less}
    assert math.isnan(float(when(hole, warmth=warmth, since={"month_day": "03-01"})))


def test_last_day_that_leaves_warmth_before_another_moment() -> None:
    """10 a day: 50 are left by 26 September, before 1 October; 26, 27, 28, 29 and 30 count."""
    leaving = {"by": BASE_5, "sum": 50, "before": {"month_day": "10-01"}}
    assert when(view(), last_day_leaving=leaving) == "2021-09-26"
    assert when(view(), last_day_leaving={**leaving, "sum": 51}) == "2021-09-25"
    assert when(view(), last_day_leaving={**leaving, "before": {"work": "repot"}}) == "2021-12-27"
    assert when(view(), last_day_leaving={**leaving, "sum": 9999}) == -math.inf


def test_a_hole_before_the_last_day_leaving_has_no_say() -> None:
    leaving = {"by": BASE_5, "sum": 50, "before": {"month_day": "10-01"}}
    early = view(lambda d: (math.nan, math.nan) if d == date(2021, 2, 1) else mild(d))
    late = view(lambda d: (math.nan, math.nan) if d == date(2021, 9, 28) else mild(d))
    assert when(early, last_day_leaving=leaving) == "2021-09-26"
    assert math.isnan(float(when(late, last_day_leaving=leaving)))


def test_share_open_follows_the_curve_and_the_pace() -> None:
    """First flower on 1 May is a tenth; 40 degree-days later half, 90 later all."""
    made = view(curve=CURVE, stages={("first-flower", 0): day("2021-05-01")})
    assert when(made, share_open=0.1) == "2021-05-01"
    assert when(made, share_open=0.3) == "2021-05-02"  # 20
    assert when(made, share_open=0.5) == "2021-05-04"  # 40
    assert when(made, share_open=1.0, plus_days=1) == "2021-05-10"  # 90, and a day
    slow = view(curve=CURVE, stages={("first-flower", 0): day("2021-05-01")}, pace=np.array([2.0]))
    assert when(slow, share_open=0.5) == "2021-05-08"  # 80


# Temperatures held, and nights.


def test_a_temperature_is_held_on_the_last_of_its_days() -> None:
    made = view(lambda d: (0.0, 10.0) if date(2021, 3, 2) <= d <= date(2021, 3, 6) else mild(d))
    held = {"of": "mean", "at_most_c": 5, "days": 3}
    assert when(made, held=held, since={"month_day": "02-01"}) == "2021-03-04"
    # The whole run lies at or after the start.
    assert when(made, held=held, since={"month_day": "03-03"}) == "2021-03-05"
    assert when(made, held=held, since={"month_day": "03-05"}) == NEVER
    assert when(made, held={**held, "days": 6}, since={"month_day": "02-01"}) == NEVER


@pytest.mark.parametrize(("of", "limit"), [("mean", 15), ("max", 20), ("min", 10)])
def test_mean_high_and_night_are_held_at_the_limit_itself(of: str, limit: int) -> None:
    since = {"month_day": "02-01"}
    for side in ("at_least_c", "at_most_c"):
        assert when(view(), held={"of": of, side: limit, "days": 2}, since=since) == "2021-02-02"
    assert when(view(), held={"of": of, "at_least_c": limit + 0.1, "days": 2}, since=since) == NEVER
    assert when(view(), held={"of": of, "at_most_c": limit - 0.1, "days": 2}, since=since) == NEVER


def test_falling_from_midsummer_and_rising_from_midwinter_where_no_start_is_given() -> None:
    assert when(view(), held={"of": "mean", "at_most_c": 15, "days": 1}) == "2021-07-02"
    assert when(view(), held={"of": "mean", "at_least_c": 15, "days": 1}) == "2021-01-01"


def test_a_missing_day_inside_a_run_that_may_have_held_makes_it_unknown() -> None:
    """2 March is missing: on the 3rd or 4th three days may have been held."""

    def cold_with_a_hole(d: date) -> tuple[float, float]:
        if d == date(2021, 3, 2):
            return math.nan, math.nan
        return (0.0, 10.0) if date(2021, 3, 1) <= d <= date(2021, 3, 20) else mild(d)

    made, held = view(cold_with_a_hole), {"of": "mean", "at_most_c": 5, "days": 3}
    assert math.isnan(float(when(made, held=held, since={"month_day": "03-01"})))
    assert when(made, held=held, since={"month_day": "03-03"}) == "2021-03-05"


def test_first_night_is_the_first_of_its_own_winter() -> None:
    frosts = [date(2021, 4, 20), date(2021, 11, 5), date(2021, 12, 1), date(2022, 4, 1)]
    made = view(lambda d: (0.0, 20.0) if d in frosts else mild(d))
    assert when(made, first_night={"at_most_c": 0}) == "2021-11-05"
    assert when(made, first_night={"at_most_c": -0.1}) == NEVER
    assert when(made, step=-1, first_night={"at_most_c": 0}) == "2021-04-20"  # the winter 2020 to 2021
    assert when(made, last_night={"at_most_c": 0}) == "2021-04-20"
    assert when(made, step=1, last_night={"at_most_c": 0}) == "2022-04-01"
    assert when(made, step=2, last_night={"at_most_c": 0}) == -math.inf  # a winter without: long ago


def test_nights_are_those_of_the_outdoor_bench_and_the_tree_s_own_limit() -> None:
    shed = weather(mild, Bench(floor_c="12"))  # type: ignore[arg-type]
    made = view(lambda d: (-4.0, 20.0) if d >= date(2021, 12, 1) else mild(d), stands_in=shed)
    assert when(made, first_night={"at_most_c": 0}) == "2021-12-01"
    assert when(made, first_night={"at_most_c": "frost-limit"}) == "2021-12-01"
    assert when(view(made.outside and mild, limit_c=-5.0), first_night={"at_most_c": "frost-limit"}) == NEVER


def test_what_a_tree_feels_is_the_weather_of_where_it_stands() -> None:
    shed = weather(mild, Bench(offset_c="5"))  # type: ignore[arg-type]
    since = {"month_day": "02-01"}
    inside = view(stands_in=shed)
    assert when(inside, warmth={"by": BASE_5, "sum": 100}, since=since) == "2021-02-07"  # 15 a day
    assert when(inside, held={"of": "mean", "at_least_c": 20, "days": 1}, since=since) == "2021-02-01"


def test_nights_with_a_hole_before_them_are_unknown() -> None:
    made = view(
        lambda d: (math.nan, math.nan) if d == date(2021, 10, 1) else (mild(d) if d.month < 11 else (0, 9))
    )
    assert math.isnan(float(when(made, first_night={"at_most_c": 0})))


# Day length.


def test_day_length_falls_after_midsummer_and_rises_after_midwinter() -> None:
    made = view()
    hours = {
        d: float(day_length_h(50.0, np.array([d]))[0]) for d in range(day("2021-01-01"), day("2022-01-01"))
    }
    falling = next(d for d in hours if d > day("2021-07-01") and hours[d] <= 12)
    rising = next(d for d in hours if hours[d] >= 14)
    assert when(made, day_length={"at_most_h": 12}) == date.fromordinal(falling).isoformat()
    assert when(made, day_length={"at_least_h": 14}) == date.fromordinal(rising).isoformat()
    assert when(made, day_length={"at_least_h": 23}) == NEVER
    assert when(made, day_length={"at_most_h": 12}, since={"month_day": "11-01"}) == "2021-11-01"


def test_day_length_reference_equinox() -> None:
    """From sunrise to sunset 12 h are passed within a week of the equinoxes (US Naval Observatory tables)."""
    spring, autumn = when(view(), day_length={"at_least_h": 12}), when(view(), day_length={"at_most_h": 12})
    assert "2021-03-14" <= str(spring) <= "2021-03-20"
    assert "2021-09-22" <= str(autumn) <= "2021-09-29"


# Together.


def test_earliest_and_latest_and_what_is_not_known() -> None:
    may, june, never = {"month_day": "05-01"}, {"month_day": "06-01"}, {"work": "repot"}
    unknown = {"stage": "flush"}
    assert when(view(), earliest=[june, may, never]) == "2021-05-01"
    assert when(view(), latest=[may, june], plus_days=1) == "2021-06-02"
    assert when(view(), latest=[may, never]) == NEVER
    for both in ("earliest", "latest"):
        assert math.isnan(float(when(view(), **{both: [may, unknown]})))


def test_the_other_end_of_a_window() -> None:
    made = view()
    ends = {"closes": made.frame.everywhere(day("2021-11-01"))}
    assert evaluate(moment(of="closes", plus_days=-28), 0, made, ends=ends)[0] == day("2021-10-04")


def test_a_long_ago_start_is_taken_from_the_span_s_first_day() -> None:
    made = view()
    found = when(made, warmth={"by": BASE_5, "sum": 100}, since={"last_cut": "any"})
    assert found == date.fromordinal(FIRST + 9).isoformat()


def test_a_moment_off_by_a_day_is_seen() -> None:
    with pytest.raises(AssertionError):
        assert when(view(), warmth={"by": BASE_5, "sum": 100}, since={"month_day": "02-02"}) == "2021-02-10"
