"""Hostile requests over every route: never a fault of ours, never a byte that is not meant for them."""

import json
import re
from collections.abc import Iterator
from itertools import count

import pytest
from flask.testing import FlaskClient
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from serving import SAME_ORIGIN, Served, clock, serving

from care_planner.note.take import take
from care_planner.serve.app import create_app
from care_planner.serve.note_parts import numbered
from care_planner.serve.notebook import Notebook
from care_planner.serve.service import Service

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


FAR = "Sun, 06 Nov 99999999999999999999 08:49:37 GMT"


@pytest.mark.parametrize(
    ("name", "value"),
    [
        *((name, FAR) for name in ("If-Modified-Since", "If-Unmodified-Since", "If-Range")),
        *(("Range", f"bytes={many}") for many in ("9" * 5_000 + "-", "9" * 30 + "-", "0-1," * 5_000)),
        *(("Host", host) for host in ("a" * 70, "a" * 300, "a..b", "a" * 60 + ".b" * 120, "-")),
    ],
)
@pytest.mark.parametrize("path", ["/static/care.css", "LINK/feeds/all.ics", "LINK/calendar", "/nowhere"])
def test_no_header_trips_the_library(served: Served, link: str, path: str, name: str, value: str) -> None:
    extra = {"If-None-Match": '"x"'} if name == "If-Range" else {}
    sent = {"Range": "bytes=0-1", **extra, name: value}
    with served.client.get(path.replace("LINK", link), headers=sent) as answer:
        assert answer.status_code in EXPECTED | {206, 416}


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


@settings(hostile, max_examples=60)
@given(
    body=st.binary(max_size=300)
    | st.recursive(
        st.none() | st.booleans() | st.integers() | words | st.sampled_from(["id", "fields", "n-23456789"]),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(words, inner, max_size=3),
        max_leaves=8,
    ).map(lambda data: json.dumps(data).encode())
)
@example(body=b"[" * 100_000)
def test_no_outbox_is_too_much(served: Served, link: str, body: bytes) -> None:
    answer = served.client.post(link + "/outbox", data=body, headers=SAME_ORIGIN)
    assert answer.status_code in EXPECTED


# What happens to a phone and a server: a note is made; what waits is sent, and the answer comes or is lost;
# it is sent twice at once, as after a double tap; the server forgets all but its files.
HAPPENINGS = st.lists(
    st.sampled_from(["note", "note", "send", "answer lost", "twice", "restart"]), min_size=4, max_size=10
)
numbers = count(1)


@settings(hostile, max_examples=12)
@given(happenings=HAPPENINGS)
def test_a_note_that_waited_is_noted_once_and_in_order(
    served: Served, link: str, happenings: list[str]
) -> None:
    ticks = iter(range(10**9))

    def started() -> FlaskClient:
        notebook = Notebook(served.folder, served.planner, take, lambda: 60.0 * next(ticks))
        return create_app(Service(served.folder, clock, served.planner, notebook, 0.0)).test_client()

    client, made, waiting = started(), [], []

    def send() -> list[str]:
        answer = client.post(link + "/outbox", json=waiting, headers=SAME_ORIGIN)
        assert answer.status_code == 200
        return [note["id"] for note in answer.get_json()["notes"] if note["status"] in ("noted", "have")]

    for happening in [*happenings, "send"]:
        if happening == "restart":
            client = started()
        elif happening == "note":
            said = f"fuzz {next(numbers):05d}"
            fields = [["act", "words"], ["tree", "sats-01"], ["words", said], ["tapped", "2027-05-29"]]
            waiting.append({"id": numbered(said, 0, made=True), "fields": fields})
            made.append(said)
        else:
            answered = send()
            if happening == "twice":
                answered = send()
            if happening != "answer lost":
                waiting = [row for row in waiting if row["id"] not in answered]
    assert waiting == []
    noted = re.findall(r"fuzz \d{5}", served.journal())
    assert [said for said in noted if said in made] == made
