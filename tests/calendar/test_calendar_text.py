import pytest
from calendar_samples import HOSTILE, day, event

from care_planner.calendar.text import clean_line, day_month, describe, one_line
from care_planner.tasks.model import Window
from care_planner.words.line import Line, joined, line


def test_a_work_says_what_until_when_what_it_costs_cautions_and_where() -> None:
    assert describe(event(what="Cut it back.", loss="flowers")) == (
        "Cut it back.\n"
        "Best 19 May to 26 May; later is too late in most years.\n"
        "Missed, it costs a year of flowers.\n"
        "Caution: Leave a leafy shoot on each branch.\n"
        "About 30 min.\n"
        "Where: open: sats-01."
    )


def test_a_day_that_is_not_sure_says_what_settles_it() -> None:
    assert "The day is not sure yet: look at the tree first" in describe(event(firm=False))


@pytest.mark.parametrize(
    ("opens", "closes", "said"),
    [
        ("2027-05-19", None, "From 19 May on."),
        (None, "2027-05-26", "Best until 26 May; later is too late in most years."),
        ("2027-05-26", "2027-05-26", "Best on 26 May; later is too late in most years."),
        ("2026-12-30", "2028-01-02", "Best 30 Dec 2026 to 2 Jan 2028; later is too late in most years."),
    ],
)
def test_window_without_an_edge_or_over_the_year(opens: str | None, closes: str | None, said: str) -> None:
    window = Window(opens and day(opens), None, closes and day(closes))  # type: ignore[arg-type]
    assert said in describe(event(window=window, loss="form")).split("\n")
    cheap = said.removesuffix(" later is too late in most years.").replace(";", ".")
    assert cheap in describe(event(window=window, loss="looks")).split("\n")


@pytest.mark.parametrize("text", HOSTILE)
def test_any_name_becomes_one_harmless_line(text: str) -> None:
    shown = one_line(text)
    assert len(shown) <= 400
    assert shown.encode("utf-8").decode("utf-8") == shown
    assert not any(ord(char) < 32 or 0x7F <= ord(char) < 0xA0 for char in shown)
    assert not set(shown) & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u2028\u2029\ufeff")


@pytest.mark.parametrize("text", HOSTILE)
def test_a_line_with_days_keeps_them_and_the_spaces_beside_them(text: str) -> None:
    said = clean_line(line(f"{text} ", 10, " to ", 20, f" {text}"))
    assert said.days == (10, 20)
    assert said.parts[1] == " to "
    assert said.parts[0].endswith(" ")
    assert all(ord(char) >= 32 for part in said.parts for char in part)


def test_joined_emoji_and_accents_are_kept() -> None:
    assert one_line("👩‍🌾  Größe\n") == "👩‍🌾 Größe"


def test_lines_are_told_with_their_days() -> None:
    said = joined([line("Best ", day("2027-05-01"), " on"), line("until ", day("2028-01-02"))], "; ")
    assert said == Line(("Best ", " on; until ", ""), (day("2027-05-01"), day("2028-01-02")))
    assert said.text(lambda one: day_month(one, day("2027-05-01"))) == "Best 1 May on; until 2 Jan 2028"


def test_hostile_cautions_add_no_lines() -> None:
    plain = describe(event()).count("\n")
    assert describe(event(cautions=("d\u2028e\r\nWhere: f",), what="a\nb")).count("\n") == plain + 1
