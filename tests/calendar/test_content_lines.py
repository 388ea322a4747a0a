from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import vDuration, vText
from icalendar.parser import Contentline

from care_planner.calendar.content_lines import duration_value, escape, fold

# What reaches the writer has been cleaned: no controls but the line feed, no surrogates.
CLEAN = st.characters(exclude_categories=("Cc", "Cs")) | st.sampled_from("\n;,:^é🌸")
CLEAN_TEXT = st.text(CLEAN, max_size=400)


def unfolded(raw: bytes) -> str:
    return raw.replace(b"\r\n ", b"").decode("utf-8")


@given(CLEAN_TEXT.filter(lambda text: "\\" not in text))
def test_reference_same_bytes_as_icalendar(text: str) -> None:
    theirs = Contentline("SUMMARY:" + vText(text).to_ical().decode()).to_ical()
    assert fold("SUMMARY:" + escape(text)) == theirs


@given(st.text(CLEAN | st.just("\\"), max_size=300).filter(lambda text: "\\N" not in text))
def test_reference_same_text_as_icalendar_with_backslashes(text: str) -> None:
    theirs = Contentline("SUMMARY:" + vText(text).to_ical().decode()).to_ical()
    assert unfolded(fold("SUMMARY:" + escape(text))) == unfolded(theirs)


@pytest.mark.parametrize("piece", ["🌸", "\n", "\\", "\\\n", "é", ",", "^", "\\N", "👩‍🌾\n"])
def test_folds_keep_characters_and_escapes_whole(piece: str) -> None:
    for offset in range(160):
        line = "DESCRIPTION:" + escape("x" * offset + piece * 40)
        raw = fold(line)
        assert unfolded(raw) == line
        for physical in raw.split(b"\r\n"):
            assert len(physical) <= 75
            text = physical.decode("utf-8")  # raises where a character is cut
            assert (len(text) - len(text.rstrip("\\"))) % 2 == 0, "a line ends inside an escape"


def test_backslash_n_capital_stays_two_characters() -> None:
    assert escape(r"C:\New") == r"C:\\New"


@pytest.mark.parametrize("minutes", [1, 15, 60, 90, 900, 1440, 2340, 2880, 10080])
def test_reference_durations_as_icalendar_writes_them(minutes: int) -> None:
    for span in (timedelta(minutes=minutes), -timedelta(minutes=minutes)):
        assert duration_value(span) == vDuration(span).to_ical().decode()


def test_a_duration_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="a duration of nothing"):
        duration_value(timedelta(0))
