"""Opening and closing of one rule in every member, and the words for moments."""

import math
from datetime import date
from typing import Any

import numpy as np
import pytest
from small_world import FLOWERING, PLAIN, day, outcome, pack_text, resolved, rule, rulebook

from care_planner.rulebook.moment import KINDS, Moment
from care_planner.spans import NEVER
from care_planner.windows.window import MemberWindow, member_window, raw_ends
from care_planner.words.days import day_words, short_day, weekday_words
from care_planner.words.fates import why_not
from care_planner.words.moments import _WORDS, moment_words


def window_of(body: str, rested_until: float = -math.inf) -> MemberWindow:
    rules = rulebook(pack_text(PLAIN, rule("work", body)))
    years = resolved(rules)
    work = years.rules.rules["work"]
    return member_window(work, 0, years, raw_ends(work, 0, years), rested_until)


def ends(window: MemberWindow) -> tuple[str, str]:
    return tuple(
        date.fromordinal(int(window.median(end))).isoformat()  # type: ignore[return-value]
        if math.isfinite(window.median(end))
        else "never"
        for end in ("opens", "closes")
    )


MARCH = "opens: {month_day: '03-01'}\n"


def test_both_ends() -> None:
    made = window_of(MARCH + "closes: {month_day: '03-31'}")
    assert ends(made) == ("2021-03-01", "2021-03-31")
    assert (made.exists, made.squeezed) == (1.0, 0.0)
    assert made.median("middle") == day("2021-03-16")


def test_either_end_may_hang_on_the_other() -> None:
    assert ends(window_of(MARCH + "closes: {of: opens, plus_days: 7}")) == ("2021-03-01", "2021-03-08")
    hanging = "opens: {of: closes, plus_days: -7}\ncloses: {month_day: '03-31'}"
    assert ends(window_of(hanging)) == ("2021-03-24", "2021-03-31")


def test_a_rest_cuts_in_at_the_front() -> None:
    body = MARCH + "closes: {month_day: '03-31'}"
    assert ends(window_of(body, day("2021-03-15"))) == ("2021-03-15", "2021-03-31")
    cut_away = window_of(body, day("2021-04-01"))
    assert ends(cut_away) == ("never", "never")
    assert (cut_away.exists, cut_away.squeezed) == (0.0, 1.0)
    assert window_of(body, day("2021-03-31")).exists == 1.0


def test_nothing_opens_longer_ago_than_a_season() -> None:
    made = window_of("opens: {last_cut: any}\ncloses: {month_day: '03-31'}")
    assert ends(made) == ("2020-01-01", "2021-03-31")


def test_what_nothing_closes_ends_in_the_middle_of_the_next_season() -> None:
    assert ends(window_of(MARCH + "closes: {last_cut: any}"))[0] == "never"  # closed long ago
    made = window_of(MARCH + "closes: {first_night: {at_most_c: -40}}")
    assert ends(made) == ("2021-03-01", "2022-07-02")


def test_members_without_an_opening_have_no_window() -> None:
    made = window_of("opens: {first_night: {at_most_c: -40}}\ncloses: {month_day: '03-31', season: next}")
    assert (made.exists, made.squeezed) == (0.0, 0.0)
    assert made.median() == NEVER


def test_shares_count_the_known_members_only() -> None:
    opens = np.array([1.0, 2.0, 3.0, np.nan, NEVER])
    made = MemberWindow(opens, np.array([5.0, 2.0, 9.0, np.nan, NEVER]), 0.25)
    assert made.exists == 0.75
    assert made.share_holding(2) == 0.5
    assert made.share_holding(4, opens_only=True) == 0.75
    assert made.share_holding(5, closes_only=True) == 0.75
    unknown = MemberWindow(np.array([np.nan]), np.array([np.nan]), 0.0)
    assert math.isnan(unknown.exists) and math.isnan(unknown.share_holding(2))


def test_a_wrong_end_is_seen() -> None:
    with pytest.raises(AssertionError):
        assert ends(window_of(MARCH + "closes: {month_day: '03-30'}")) == ("2021-03-01", "2021-03-31")


# Words.


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"stage": "flush", "plus_days": "5"}, "5 days after flush"),
        (
            {"stage": "bud-swell", "season": "next", "plus_days": "-1"},
            "1 day before bud swell of the next season",
        ),
        ({"share_open": "0.33"}, "33% of the flowers open"),
        ({"month_day": "05-01"}, "1 May (in the south half a year on)"),
        (
            {"first_night": {"at_most_c": "0"}, "season": "previous"},
            "the first night of 0 degC or less of the season before",
        ),
        ({"last_night": {"at_most_c": "frost-limit"}}, "the last night at the tree's frost limit"),
        ({"day_length": {"at_most_h": "13.7"}}, "days shorter than 13.7 h"),
        ({"day_length": {"at_least_h": "11"}}, "days longer than 11 h"),
        (
            {"held": {"of": "max", "at_least_c": "32", "days": "3"}},
            "3 days running with a high of 32 degC or more",
        ),
        ({"held": {"at_most_c": "5", "days": "1"}}, "a day with a mean of 5 degC or less"),
        ({"last_cut": "any"}, "the last cut of this season"),
        ({"sign": "galls"}, "galls noted"),
        ({"of": "closes", "plus_days": "-28"}, "28 days before its close"),
        (
            {"earliest": [{"work": "repot"}, {"stage": "flush"}]},
            "whichever comes first: repot; or flush",
        ),
        (
            {
                "warmth": {"by": {"method": "single-sine", "base_c": "5", "upper_c": "30"}, "sum": "60"},
                "since": {"stage": "rest"},
            },
            "60 degree-days above 5 degC (single sine, no more above 30) since rest",
        ),
        (
            {
                "warmth": {"by": {"method": "sigmoid", "midpoint_c": "12", "slope_per_c": "0.2"}, "sum": "9"},
                "since": {"stage": "rest"},
            },
            "9 warm days (one of 12 degC counts half, a warmer one more) since rest",
        ),
        (
            {"chill": {"by": {"method": "utah"}, "sum": "800"}, "since": {"stage": "rest"}},
            "800 Utah chill units since rest",
        ),
        (
            {
                "chill": {"by": {"method": "hours", "low_c": "0", "high_c": "7"}, "sum": "800"},
                "since": {"stage": "rest"},
            },
            "800 hours between 0 and 7 degC since rest",
        ),
        (
            {
                "last_day_leaving": {
                    "by": {"method": "average", "base_c": "5"},
                    "sum": "90",
                    "before": {"stage": "rest"},
                }
            },
            "the last day that leaves 90 degree-days above 5 degC (average) before rest",
        ),
    ],
)
def test_words_of_a_moment(said: dict[str, Any], words: str) -> None:
    assert moment_words(Moment.model_validate(said)) == words


def test_every_kind_of_moment_has_words() -> None:
    assert set(_WORDS) == set(KINDS)


def test_words_of_days() -> None:
    at = day("2027-05-22")
    assert (day_words(at), short_day(at), weekday_words(at)) == ("22 May 2027", "22 May", "Sat 22 May")
    assert day_words(NEVER) == "never"


def test_goal_age_and_condition_are_asked_of_the_tree() -> None:
    body = MARCH + "closes: {month_day: '03-31'}\nonly: {goal: [vigour], condition: [strong]}"
    rules = rulebook(pack_text(FLOWERING, rule("work", body)))
    tree = {"taxon": "flowering-tree"}
    assert outcome(resolved(rules, {**tree, "goal": "vigour"}), "work").state == "planned"
    assert outcome(resolved(rules, {**tree, "goal": "flowers"}), "work").state == "lost"
    assert outcome(resolved(rules, {**tree, "goal": {2021: "vigour"}}), "work").state == "planned"
    assert outcome(resolved(rules, {**tree, "goal": {2022: "vigour"}}), "work").state == "lost"
    untold = outcome(resolved(rules, {**tree, "goal": "vigour", "condition": None}), "work")
    assert (untold.state, why_not(untold.reason), untold.fact) == (
        "asked",
        "the condition is not known",
        "condition",
    )
