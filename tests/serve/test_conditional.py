"""Conditional requests against the tables of RFC 9110."""

import time
from datetime import UTC, datetime, timedelta

import pytest
from werkzeug.datastructures import Headers
from werkzeug.http import http_date

from care_planner.serve.conditional import evaluate, wants_gzip
from care_planner.serve.served import FeedChange, changed, index_text, parse_index

TAG, PACKED = '"abc"', '"abc-gzip"'
TAGS = ("abc", "abc-gzip")
AT = datetime(2027, 5, 29, 8, 49, 37, tzinfo=UTC)
SAME, BEFORE, AFTER = (http_date(AT + timedelta(seconds=s)) for s in (0, -1, 1))


def answer_to(**asked: str) -> str:
    """What a request with these headers gets, named as `if_match`."""
    return evaluate(TAGS, AT, Headers([(name.replace("_", "-"), value) for name, value in asked.items()]))


def test_reference_the_three_forms_of_a_date() -> None:
    """RFC 9110, 5.6.7: the same moment in its three forms, and one second before it."""
    for same, before in (
        ("Sat, 29 May 2027 08:49:37 GMT", "Sat, 29 May 2027 08:49:36 GMT"),
        ("Saturday, 29-May-27 08:49:37 GMT", "Saturday, 29-May-27 08:49:36 GMT"),
        ("Sat May 29 08:49:37 2027", "Sat May 29 08:49:36 2027"),
    ):
        assert answer_to(if_modified_since=same) == "not-modified", same
        assert answer_to(if_modified_since=before) == "whole", before


@pytest.mark.parametrize(
    "text",
    [
        *("", "0", "yesterday", "Sun, 06 Nov 1994", "2127-05-29T08:49:37Z", "Sun, 32 Nov 2094 08:49:37 GMT"),
        *("Sun, 06 Nov 2094 24:49:37 GMT", "Sun, 06 Nov 99999999999999999999 08:49:37 GMT", ",", "a," * 900),
    ],
)
def test_what_is_no_date_is_as_if_it_had_not_been_sent(text: str) -> None:
    assert answer_to(if_modified_since=text) == answer_to(if_unmodified_since=text) == "whole"


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
        ({"if_none_match": "abc"}, "not-modified"),  # a tag without its quotes: the library is kind
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
    assert answer_to(**asked) == answer


@pytest.mark.parametrize(
    ("header", "wanted"),
    [("gzip", True), ("br, GZip;q=0.5", True), ("gzip;q=0", False), ("gzip;q=0.000", False), ("*", False),
     ("identity", False), ("", False), (None, False), ("gzipped", False)],
)  # fmt: skip
def test_gzip_only_when_asked_by_name(header: str | None, wanted: bool) -> None:
    assert wants_gzip(Headers({} if header is None else {"Accept-Encoding": header})) is wanted


HOSTILE = [
    '"a"' + ", , , ," * 15 + "x",  # stood still for ever once
    '"a"' + "," * 1_900 + "x",
    '"a"' + " ," * 900 + "x",
    '"' * 1_999,
    'W/"a",' * 330 + "W/",
    'a",' * 660,
    "(" * 1_999,
    "\\" * 1_999,
    "gzip;q=" + "0" * 1_990,
    "a;" * 990 + '"',
    'a="' * 660,
    "Sun, " + "06 " * 660,
    '"a", ' * 100_000,
]


@pytest.mark.parametrize("name", ["If-Match", "If-None-Match", "If-Modified-Since", "If-Unmodified-Since"])
def test_no_header_takes_long_to_read(name: str) -> None:
    began = time.process_time()
    for value in HOSTILE:
        asked = Headers({name: value, "Accept-Encoding": value})
        evaluate(TAGS, AT, asked)
        wants_gzip(asked)
    assert time.process_time() - began < 1.0


def test_last_modified_never_goes_back() -> None:
    first = changed("a" * 64, None, AT)
    assert changed("a" * 64, first, AT + timedelta(days=1)) == first
    for later in (AT - timedelta(days=400), AT, AT + timedelta(days=1)):
        other = changed("b" * 64, first, later)
        assert other.at > first.at
        assert changed("a" * 64, other, later).at > other.at  # not even when it returns to what it was


def test_the_index_reads_back() -> None:
    index = {"all.ics": FeedChange("a" * 64, AT), "trees/x.ics": FeedChange("b" * 64, AT)}
    assert parse_index(index_text(index)) == index
