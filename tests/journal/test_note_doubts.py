"""What earlier notes speak against needs --sure; what agrees with them does not. Boundaries in pairs."""

from pathlib import Path

import pytest
from small_collection import make_collection, noted, refused

Noted = tuple[str, str]  # what, day


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_collection(tmp_path / "yard")


RUBBED = ("did rub-buds-off", "2026-10-03")
ALL_OFF = ("did all-buds-off", "2027-05-15")
FIRST = ("first-flower", "2027-05-23")
FORTY = ("open 40%", "2027-05-30")


@pytest.mark.parametrize(
    ("before", "now", "doubt"),
    [
        (RUBBED, ("first-flower", "2027-05-23"),
         "'Disbud, rub the flower buds off' was noted on 2026-10-03, so no flower comes in 2027"),
        (RUBBED, ("open 10%", "2027-05-23"),
         "'Disbud, rub the flower buds off' was noted on 2026-10-03, so no flower comes in 2027"),
        (RUBBED, ("BBCH 65", "2027-05-23"),
         "'Disbud, rub the flower buds off' was noted on 2026-10-03, so no flower comes in 2027"),
        (("disbud", "2026-10-03"), ("first-flower", "2027-05-23"),
         "'Disbud, rub the flower buds off' was noted on 2026-10-03, so no flower comes in 2027"),
        (ALL_OFF, ("first-flower", "2027-05-23"),
         "'All flower buds off' was noted on 2027-05-15, so no flower comes in 2027"),
        (FIRST, ("first-flower", "2027-05-29"),
         "first-flower was noted on 2027-05-23 already, and the earlier day counts"),
        (FIRST, ("bud-swell", "2027-05-24"),
         "first-flower, which comes after bud-swell, was noted on 2027-05-23"),
        (FIRST, ("end-of-bloom", "2027-05-22"),
         "first-flower, which comes before end-of-bloom, was noted on 2027-05-23"),
        (("end-of-bloom", "2027-06-10"), ("open 40%", "2027-06-11"),
         "end-of-bloom, which comes after third-open, was noted on 2027-06-10"),
        (FORTY, ("open 39%", "2027-05-31"), "40% open was noted on 2027-05-30"),
        (FORTY, ("open 41%", "2027-05-29"), "40% open was noted on 2027-05-30"),
        (FORTY, ("third-open", "2027-05-31"), "40% open was noted on 2027-05-30"),
        (FORTY, ("first-flower", "2027-05-31"), "40% open was noted on 2027-05-30"),
        (("BBCH 63", "2027-05-30"), ("open 20%", "2027-05-31"), "third-open was noted on 2027-05-30"),
        (FIRST, ("not-yet", "2027-05-24"), "first-flower was noted as reached on 2027-05-23"),
        (FORTY, ("not-yet first-flower", "2027-05-31"), "first-flower was noted as reached on 2027-05-30"),
        (("not-yet", "2027-05-24"), ("first-flower", "2027-05-23"),
         "first-flower was noted as not reached on 2027-05-24"),
        (("not-yet", "2027-05-24"), ("open 10%", "2027-05-23"),
         "first-flower was noted as not reached on 2027-05-24"),
        (("did repot", "2027-04-03"), ("did repot", "2027-05-02"),
         "its roots were worked on 3 Apr 2027 too, 29 days from then"),
        (("did repot", "2027-04-03"), ("repotted", "2026-07-01"),
         "its roots were worked on 3 Apr 2027 too, 276 days from then"),
    ],
)  # fmt: skip
def test_what_needs_to_be_sure(folder: Path, before: Noted, now: Noted, doubt: str) -> None:
    noted(folder, "sats-01", *before)
    assert refused(folder, "sats-01", *now) == [f"WHAT: sats-01: {doubt}; add --sure if it is right"]
    assert noted(folder, "sats-01", *now, sure=True)[0].startswith("noted on")


@pytest.mark.parametrize(
    ("before", "now"),
    [
        (RUBBED, ("bud-swell", "2027-04-01")),
        # A prune in its time costs no flower; whether it was in time only the plan can say.
        (("did prune-after-bloom", "2026-06-18"), ("first-flower", "2027-05-23")),
        (("first-flower", "2026-05-23"), ("first-flower", "2027-05-29")),
        (RUBBED, ("not-yet", "2027-05-23")),
        (("did rub-buds-off", "2026-03-01"), ("first-flower", "2027-05-23")),  # the bloom returns a year on
        (("skipped rub-buds-off", "2026-10-03"), ("first-flower", "2027-05-23")),
        (("did all-buds-off", "2027-05-24"), ("first-flower", "2027-05-23")),
        (("did remaining-buds-off", "2027-05-22"), ("open 40%", "2027-05-23")),
        (FIRST, ("bud-swell", "2027-05-23")),
        (FIRST, ("bud-swell", "2027-04-01")),
        (("first-flower", "2026-05-23"), ("bud-swell", "2027-04-01")),
        (FORTY, ("open 40%", "2027-05-31")),
        (FORTY, ("open 39%", "2027-05-30")),
        (FORTY, ("half-open", "2027-05-31")),
        (FIRST, ("open 1%", "2027-05-24")),
        (("not-yet", "2027-05-23"), FIRST),
        (FIRST, ("not-yet", "2027-05-22")),
        (("first-flower", "2026-05-23"), ("not-yet", "2027-05-20")),
        (("did repot", "2027-04-03"), ("did repot", "2026-03-20")),
        (("skipped repot", "2027-04-03"), ("did repot", "2027-05-02")),
    ],
)
def test_what_agrees_needs_no_word_more(folder: Path, before: Noted, now: Noted) -> None:
    noted(folder, "sats-01", *before)
    assert noted(folder, "sats-01", *now)[0].startswith("noted on")


def test_another_trees_notes_speak_against_nothing(folder: Path) -> None:
    noted(folder, "sats-01", *RUBBED)
    assert noted(folder, "sats-02", "first-flower")[0].startswith("noted on")
    assert refused(folder, "sats-01 sats-02", "half-open", "2027-05-22") == [
        "WHAT: sats-01: 'Disbud, rub the flower buds off' was noted on 2026-10-03, so no flower comes in "
        "2027; add --sure if it is right",
        "WHAT: sats-02: first-flower was noted on 2027-05-23; add --sure if it is right",
    ]


def test_what_was_taken_back_speaks_against_nothing(folder: Path) -> None:
    id = noted(folder, "sats-01", *RUBBED)[0].split("(")[1].split()[0]
    noted(folder, "sats-01", f"take-back {id}")
    assert noted(folder, "sats-01", "first-flower")[0].startswith("noted on")


def test_a_low_of_thirty_below_in_april_needs_a_second_word(folder: Path) -> None:
    (said,) = refused(folder, "sats-01", "low -30", "2027-04-12")
    assert "sats-01: a low of -30 degC in April is hardly ever so" in said
    noted(folder, "sats-01", "low -30", "2027-04-12", sure=True)
    noted(folder, "sats-01", "low -3", "2027-04-13")
