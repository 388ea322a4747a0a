"""Hostile requests over every route: never a fault of ours, never a byte that is not meant for them."""

from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from serving import SAME_ORIGIN, Served, serving

# Statuses that a request may get; anything of 500 and above is a fault of ours.
EXPECTED = {200, 303, 304, 308, 400, 403, 404, 405, 412, 413, 429}

words = st.text(max_size=40) | st.sampled_from(
    [
        "..",
        "../..",
        "%2e%2e%2f",
        "all.ics",
        "sats-01",
        "a/b",
        "\\",
        "\x00",
        "<script>",
        "' or 1",
        "{{7*7}}",
        "🌸",
    ]
)
ascii_words = st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E), max_size=40)
headers = st.dictionaries(
    st.sampled_from(
        [
            "If-None-Match",
            "If-Modified-Since",
            "If-Match",
            "If-Unmodified-Since",
            "Accept-Encoding",
            "Range",
            "Origin",
            "Sec-Fetch-Site",
            "Cookie",
            "X-Forwarded-Host",
            "Accept",
            "Referer",
        ]
    ),
    ascii_words
    | st.sampled_from(['"a", W/"b"', "*", "Sun, 06 Nov 1994 08:49:37 GMT", "gzip;q=", "bytes=0-1"]),
    max_size=4,
)
paths = st.builds(
    lambda start, rest: start + "/".join(rest),
    st.sampled_from(
        ["/", "LINK/", "LINK/feeds/", "LINK/trees/", "LINK/feeds/trees/", "LINK/notes", "/static/", "/g/"]
    ),
    st.lists(words, max_size=3),
)
fields = st.dictionaries(
    st.sampled_from(["act", "tree", "rule", "stage", "open", "on", "words", "sure", "page", "entry", "form"]),
    words
    | st.sampled_from(["did", "skipped", "saw", "not-yet", "open", "words", "take-back", "2027-05-01", "50"]),
    max_size=8,
)


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with serving(tmp_path_factory.mktemp("fuzz")) as served:
        yield served


@pytest.fixture(scope="module")
def link(served: Served) -> str:
    return served.link("anna", may_note=True)


hostile = settings(
    max_examples=600, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@hostile
@given(
    method=st.sampled_from(["GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS", "TRACE"]),
    path=paths,
    query=st.dictionaries(st.sampled_from(["noted", "season", "x"]), words, max_size=2),
    sent=headers,
)
def test_no_request_is_too_much(
    served: Served, link: str, method: str, path: str, query: dict[str, str], sent: dict[str, str]
) -> None:
    raw = (
        path.replace("LINK", link).encode("utf-8", "surrogatepass").decode("latin-1")
    )  # as a server hands it
    answer = served.client.open(
        "/", method=method, query_string=query, headers=sent, environ_overrides={"PATH_INFO": raw}
    )
    assert answer.status_code in EXPECTED
    assert answer.headers["Referrer-Policy"] == "no-referrer"
    if answer.status_code == 200 and "/feeds/" in path and method == "GET":
        assert answer.content_type == "text/calendar; charset=utf-8"


@settings(hostile, max_examples=300)
@given(fields=fields, own=st.booleans())
def test_no_form_is_too_much(served: Served, link: str, fields: dict[str, str], own: bool) -> None:
    token = {"form": served.token(link + "/trees/sats-01")} if own else {}
    answer = served.client.post(link + "/notes", data={**fields, **token}, headers=SAME_ORIGIN)
    assert answer.status_code in EXPECTED
    if answer.status_code == 303:
        assert served.get(answer.headers["Location"]).status_code == 200


@settings(hostile, max_examples=100)
@given(body=st.binary(max_size=400), kind=st.sampled_from(["application/x-www-form-urlencoded", "text/plain",
       "multipart/form-data; boundary=x", "multipart/form-data", "application/json", "\x7f"]))  # fmt: skip
def test_no_body_is_too_much(served: Served, link: str, body: bytes, kind: str) -> None:
    answer = served.client.post(link + "/notes", data=body, content_type=kind, headers=SAME_ORIGIN)
    assert answer.status_code in EXPECTED
