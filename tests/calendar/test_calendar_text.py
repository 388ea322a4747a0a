from dataclasses import replace

import pytest
from calendar_samples import HOSTILE, day, event, task

from care_planner.calendar.text import (
    MOST_TREES_NAMED,
    clean_lines,
    describe,
    one_line,
    percent,
    window_line,
    without_places,
)
from care_planner.tasks.model import Window
from care_planner.words.chains import why_lines_of


def test_description_says_window_chance_work_cautions_and_reasons() -> None:
    assert describe(event()) == (
        "Window: 19 May to 26 May, likely 22 May\n"
        "Chance: 80 %\n"
        "Date: firm\n"
        "Work: 30 min\n"
        "Tree: sats-01\n"
        "Caution: Leave a leafy shoot on each branch\n"
        "End of bloom expected 20 May\n"
        "Common practice"
    )


def test_provisional_work_says_what_settles_it() -> None:
    assert "Date: provisional; note what you see" in describe(event(firm=False))


@pytest.mark.parametrize(
    ("opens", "likely", "closes", "line"),
    [
        ("2027-05-19", "2027-05-22", None, "from 19 May, in most years without an end, likely 22 May"),
        (None, "2027-05-22", "2027-05-26", "until 26 May, likely 22 May"),
        (None, None, None, "in most years not reached"),
        ("2026-12-30", "2027-05-22", "2028-01-02", "30 Dec 2026 to 2 Jan 2028, likely 22 May"),
    ],
)
def test_window_without_an_edge_or_over_the_year(
    opens: str | None, likely: str | None, closes: str | None, line: str
) -> None:
    window = Window(*(day(text) if text else None for text in (opens, likely, closes)))
    assert window_line(window, day("2027-05-22")) == f"Window: {line}"


@pytest.mark.parametrize("text", HOSTILE)
def test_any_name_becomes_one_harmless_line(text: str) -> None:
    line = one_line(text)
    assert len(line) <= 400
    assert line.encode("utf-8").decode("utf-8") == line
    assert not any(ord(char) < 32 or 0x7F <= ord(char) < 0xA0 for char in line)
    assert not set(line) & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u2028\u2029\ufeff")


def test_joined_emoji_and_accents_are_kept() -> None:
    assert one_line("👩‍🌾  Größe\n") == "👩‍🌾 Größe"


@pytest.mark.parametrize(
    ("line", "left"),
    [
        ("First flower seen 20 May (journal/2026.yaml:12)", "First flower seen 20 May"),
        ("rules/own.yml:3: opens at half open", "opens at half open"),
        ("weather from /home/me/weather.csv.gz", "weather from"),
        ("see https://example.org/record.csv", "see https://example.org/record.csv"),
        ("ratio 1:30, 2.5 litres", "ratio 1:30, 2.5 litres"),
    ],
)
def test_reasons_lose_files_and_line_numbers(line: str, left: str) -> None:
    assert without_places(line) == left


def test_empty_and_repeated_lines_go() -> None:
    assert clean_lines(("a", "", " ", "b", "a", "x.yaml:3")) == ("a", "b")


@pytest.mark.parametrize(("chance", "shown"), [(0.0, 0), (0.005, 1), (0.125, 13), (0.8049, 80), (1.0, 100)])
def test_chances_are_rounded_halves_up(chance: float, shown: int) -> None:
    assert percent(chance) == shown


def test_a_long_list_of_trees_is_cut_and_counted() -> None:
    trees = tuple(f"t-{number:03}" for number in range(MOST_TREES_NAMED + 5))
    text = describe(replace(event(), trees=trees))
    assert f"Trees ({MOST_TREES_NAMED + 5}): t-000, t-001" in text
    assert text.count("t-0") == MOST_TREES_NAMED
    assert "and 5 more" in text


def test_hostile_reasons_add_no_lines() -> None:
    plain = describe(event()).count("\n")
    spoilt = task(why=("a\nWhy: b\r\nChance: 100 %", "c"), cautions=("d\u2028e",))
    assert describe(event(why=why_lines_of(spoilt), cautions=spoilt.cautions)).count("\n") == plain
