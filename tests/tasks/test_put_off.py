"""Work that a note puts off, and work done on a part of a tray."""

from one_tree import shown, window, years_of
from small_world import outcome, rule

from care_planner.tasks.drafts import minutes_of
from care_planner.words.fates import why_not
from care_planner.years.reasons import PutOff

EARLY = rule("work", window("03-03", "03-31") + "choose: early")
AGAIN = rule("work", window("03-03", "05-31") + "choose: early\nrepeat: {every_days: 14}")


def put_off(until: str) -> list[dict[str, object]]:
    return [{"date": "2021-03-05", "put_off": "work", "until": until}]


def test_it_waits_until_the_day_that_was_said() -> None:
    assert shown(outcome(years_of(EARLY, today="2021-03-05"), "work")) == ["2021-03-05"]
    made = outcome(years_of(EARLY, today="2021-03-05", noted=put_off("2021-03-08")), "work")
    assert shown(made) == ["2021-03-08"]
    assert isinstance(made.aimed, PutOff) and why_not(made.aimed) == "put off until 8 Mar by a note"


def test_it_is_not_put_off_beyond_its_last_day() -> None:
    made = outcome(years_of(EARLY, today="2021-03-05", noted=put_off("2021-06-01")), "work")
    assert shown(made) == ["2021-03-31"]


def test_rounds_go_on_from_the_day_that_was_said() -> None:
    made = outcome(years_of(AGAIN, today="2021-03-05", noted=put_off("2021-03-20")), "work")
    assert shown(made)[0] == "2021-03-20"


def test_a_part_of_a_tray_is_not_the_whole() -> None:
    part = [{"date": "2021-03-05", "did": "work", "count": "3"}]
    assert outcome(years_of(EARLY, today="2021-03-06", noted=part), "work").state == "planned"
    whole = [{"date": "2021-03-05", "did": "work"}]
    assert outcome(years_of(EARLY, today="2021-03-06", noted=whole), "work").state == "done"


TRAY = {"count": 40}


def minutes(text: str, *noted: dict[str, object], is_next: bool = True) -> int:
    years = years_of(text, tree=TRAY, today="2021-03-08", noted=list(noted))
    return minutes_of(years.rules.rules["work"], years, 2021, is_next)


def test_the_rest_of_a_tray_takes_as_long_as_so_many_plants() -> None:
    whole = minutes(EARLY)
    for_10 = years_of(EARLY, tree={"count": 10}, today="2021-03-08")
    done: dict[str, object] = {"date": "2021-03-05", "did": "work", "count": "30"}
    assert minutes(EARLY, done) == minutes_of(for_10.rules.rules["work"], for_10, 2021) < whole
    # The last note says how many by then; a later time of work that comes again is for all.
    assert minutes(EARLY, done, {**done, "date": "2021-03-06", "count": "35"}) < minutes(EARLY, done)
    assert minutes(AGAIN, done, is_next=False) == minutes(AGAIN)


def test_work_done_on_all_of_a_tray_begins_anew() -> None:
    part: dict[str, object] = {"date": "2021-03-05", "did": "work", "count": "30"}
    assert minutes(AGAIN, part, {"date": "2021-03-06", "did": "work"}) == minutes(AGAIN)
