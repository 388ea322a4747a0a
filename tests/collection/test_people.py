"""Whose days the work has to fit: several people, days away, favourite weekdays."""

from datetime import date

from care_planner.collection.people import People
from care_planner.typed_yaml.read_yaml import parse_yaml, validate

SATURDAY, SUNDAY, MONDAY = (date(2027, 6, day).toordinal() for day in (5, 6, 7))


def people(text: str) -> People:
    located, _ = parse_yaml(text, "f.yaml")
    assert located is not None
    found, problems = validate(located, People)
    assert found is not None, problems
    return found


def complaints(text: str) -> list[str]:
    located, _ = parse_yaml(text, "f.yaml")
    assert located is not None
    return [str(problem) for problem in validate(located, People)[1]]


def test_the_weekdays_are_those_of_the_calendar() -> None:
    assert [date.fromordinal(day).strftime("%a") for day in (SATURDAY, SUNDAY, MONDAY)] == [
        "Sat",
        "Sun",
        "Mon",
    ]
    one = people("{days: [sat]}")
    assert [one.is_favourite(day) for day in (SATURDAY, SUNDAY, MONDAY)] == [True, False, False]


def test_both_ends_of_an_absence_are_away() -> None:
    one = people("{away: [{from: 2027-06-05, to: 2027-06-06}]}")
    days = range(SATURDAY - 1, MONDAY + 1)
    assert [one.is_away(day) for day in days] == [False, True, True, False]
    assert [one.is_favourite(day) for day in days] == [True, False, False, True]


def test_a_day_is_away_only_when_everyone_is() -> None:
    two = people("anna: {days: [sat], away: [{from: 2027-06-05, to: 2027-06-07}]}\nben: {days: [sun, mon]}\n")
    assert [two.is_away(day) for day in (SATURDAY, SUNDAY)] == [False, False]
    assert [two.is_favourite(day) for day in (SATURDAY, SUNDAY, MONDAY)] == [False, True, True]
    both = people(
        "anna: {away: [{from: 2027-06-05, to: 2027-06-06}]}\n"
        "ben: {away: [{from: 2027-06-06, to: 2027-06-07}]}\n"
    )
    assert [both.is_away(day) for day in (SATURDAY, SUNDAY, MONDAY)] == [False, True, False]


def test_mistakes_about_one_person_and_about_several() -> None:
    assert complaints("anna: {dyas: [sat]}\nben: {away: [{from: x, to: 2027-06-06}]}\n") == [
        "f.yaml:1: unknown key 'dyas'; did you mean days?",
        "f.yaml:2: from is 'x', not a date; allowed: a date such as 2027-03-01",
    ]
    assert complaints("dyas: [sat]\n") == ["f.yaml:1: unknown key 'dyas'; did you mean days?"]
