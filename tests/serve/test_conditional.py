"""Conditional requests against the tables of RFC 9110."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from care_planner.serve.conditional import evaluate, http_date, parse_http_date, wants_gzip
from care_planner.serve.served import Change, changed, index_text, parse_index

TAG, PACKED = '"abc"', '"abc-gzip"'
AT = datetime(2027, 5, 29, 8, 49, 37, tzinfo=UTC)
SAME, BEFORE, AFTER = (http_date(AT + timedelta(seconds=s)) for s in (0, -1, 1))


def test_reference_the_three_forms_of_a_date() -> None:
    """RFC 9110, 5.6.7: the same moment in its three forms."""
    moment = datetime(1994, 11, 6, 8, 49, 37, tzinfo=UTC)
    assert http_date(moment) == "Sun, 06 Nov 1994 08:49:37 GMT"
    for text in (
        "Sun, 06 Nov 1994 08:49:37 GMT",
        "Sunday, 06-Nov-94 08:49:37 GMT",
        "Sun Nov  6 08:49:37 1994",
    ):
        assert parse_http_date(text) == moment.timestamp()


def test_a_date_is_written_in_utc_and_whole_seconds() -> None:
    korean = datetime(2027, 1, 1, 3, 0, 0, 999_999, tzinfo=timezone(timedelta(hours=9)))
    assert http_date(korean) == "Thu, 31 Dec 2026 18:00:00 GMT"


@pytest.mark.parametrize(
    "text",
    [
        *("", "0", "yesterday", "Sun, 06 Nov 1994", "2027-05-29T08:49:37Z"),
        *("Sun, 32 Nov 1994 08:49:37 GMT", "Sun, 06 Nov 1994 24:49:37 GMT", "Sun, 06 Nov 1994 08:49:37 CET"),
        "Sun, 06 Nov 0000 08:49:37 GMT",
    ],
)
def test_what_is_no_date_is_none(text: str) -> None:
    assert parse_http_date(text) is None


@pytest.mark.parametrize(
    ("asked", "answer"),
    [
        # 13.1.2, If-None-Match: weak comparison, a list, or *.
        ({"if_none_match": TAG}, "not-modified"),
        ({"if_none_match": PACKED}, "not-modified"),
        ({"if_none_match": f"W/{TAG}"}, "not-modified"),
        ({"if_none_match": f'"x", {TAG}'}, "not-modified"),
        ({"if_none_match": f'"x",{TAG} ,'}, "not-modified"),
        ({"if_none_match": "*"}, "not-modified"),
        ({"if_none_match": '"x"'}, "whole"),
        ({"if_none_match": "abc"}, "whole"),  # a tag without its quotes is none
        ({"if_none_match": ""}, "whole"),
        # 13.1.3, If-Modified-Since: whole seconds; a bad date is no condition.
        ({"if_modified_since": SAME}, "not-modified"),
        ({"if_modified_since": AFTER}, "not-modified"),
        ({"if_modified_since": BEFORE}, "whole"),
        ({"if_modified_since": "soon"}, "whole"),
        # 13.2.2: If-None-Match decides alone where it is sent.
        ({"if_none_match": TAG, "if_modified_since": BEFORE}, "not-modified"),
        ({"if_none_match": '"x"', "if_modified_since": AFTER}, "whole"),
        # 13.1.1, If-Match: strong comparison; 13.1.4, If-Unmodified-Since, only without it.
        ({"if_match": TAG}, "whole"),
        ({"if_match": "*"}, "whole"),
        ({"if_match": '"x"'}, "precondition-failed"),
        ({"if_match": f"W/{TAG}"}, "precondition-failed"),
        ({"if_match": TAG, "if_none_match": TAG}, "not-modified"),
        ({"if_match": TAG, "if_unmodified_since": BEFORE}, "whole"),
        ({"if_unmodified_since": BEFORE}, "precondition-failed"),
        ({"if_unmodified_since": SAME}, "whole"),
        ({"if_unmodified_since": "soon"}, "whole"),
        ({}, "whole"),
    ],
)  # fmt: skip
def test_reference_the_order_of_conditions(asked: dict[str, str], answer: str) -> None:
    assert evaluate((TAG, PACKED), AT, **asked) == answer


@pytest.mark.parametrize(
    ("header", "wanted"),
    [("gzip", True), ("br, GZip;q=0.5", True), ("gzip;q=0", False), ("gzip;q=0.000", False), ("*", False),
     ("identity", False), ("", False), (None, False), ("gzipped", False)],
)  # fmt: skip
def test_gzip_only_when_asked_by_name(header: str | None, wanted: bool) -> None:
    assert wants_gzip(header) is wanted


def test_last_modified_never_goes_back() -> None:
    first = changed("a" * 64, None, AT)
    assert changed("a" * 64, first, AT + timedelta(days=1)) == first
    for later in (AT - timedelta(days=400), AT, AT + timedelta(days=1)):
        other = changed("b" * 64, first, later)
        assert other.at > first.at
        assert changed("a" * 64, other, later).at > other.at  # not even when it returns to what it was


def test_the_index_reads_back() -> None:
    index = {"all.ics": Change("a" * 64, AT), "trees/x.ics": Change("b" * 64, AT)}
    assert parse_index(index_text(index)) == index
