"""The pages and feeds through the application itself: links, conditional requests, notes, files."""

import gzip
import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from example_copy import copied
from icalendar import Calendar
from serving import Served, clock, serving

from care_planner.serve.share_links import share_renew, share_revoke
from care_planner.serve.write_public import LIST_FILE, publish


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with serving(tmp_path_factory.mktemp("served")) as served:
        yield served


@pytest.fixture(scope="module")
def everything(served: Served) -> str:
    return served.link("everything")


def test_a_wrong_link_is_like_a_page_that_does_not_exist(served: Served, everything: str) -> None:
    wrong, missing = served.get("/g/nobody/"), served.get("/nothing/here")
    assert (wrong.status_code, wrong.data) == (missing.status_code, missing.data)
    assert wrong.status_code == 404
    assert served.get(everything + "/feeds/../collection.yaml").status_code == 404
    assert served.get(everything + "/feeds/..%2fcollection.yaml").status_code == 404


def test_the_whole_table_of_conditional_requests(served: Served, everything: str) -> None:
    """RFC 9110, 13.2.2: If-None-Match beats If-Modified-Since; a bad date is no condition."""
    url = everything + "/feeds/all.ics"
    whole = served.get(url)
    assert whole.status_code == 200
    assert whole.content_type == "text/calendar; charset=utf-8"
    assert "Content-Disposition" not in whole.headers and "Content-Encoding" not in whole.headers
    tag, at = whole.headers["ETag"], whole.headers["Last-Modified"]
    assert tag.startswith('"')
    earlier = (whole.last_modified - timedelta(days=1)).strftime("%a, %d %b %Y %H:%M:%S GMT")  # type: ignore[operator]
    for headers, status in (
        ({"If_None_Match": tag}, 304),
        ({"If_None_Match": f'"other", {tag}'}, 304),
        ({"If_None_Match": "*"}, 304),
        ({"If_None_Match": '"other"'}, 200),
        ({"If_Modified_Since": at}, 304),
        ({"If_Modified_Since": earlier}, 200),
        ({"If_Modified_Since": "yesterday"}, 200),
        ({"If_None_Match": '"other"', "If_Modified_Since": at}, 200),
        ({"If_None_Match": tag, "If_Modified_Since": earlier}, 304),
    ):
        answer = served.get(url, **headers)
        assert answer.status_code == status, headers
        assert (answer.headers["ETag"], answer.headers["Last-Modified"]) == (tag, at)
        assert (answer.data == b"") == (status == 304)
    head = served.client.head(url)
    assert (head.status_code, head.data, head.headers["ETag"]) == (200, b"", tag)
    packed = served.get(url, Accept_Encoding="gzip")
    assert packed.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(packed.data) == whole.data


def test_every_scope_has_a_feed_that_parses_and_no_more(served: Served) -> None:
    for scope, name in (
        ({"tree": "sats-01"}, "trees/sats-01.ics"),
        ({"bench": "frost-pocket"}, "benches/frost-pocket.ics"),
        ({"taxon": "japanese-maple"}, "taxa/japanese-maple.ics"),
        ({"work": "pruning"}, "work/pruning.ics"),
    ):
        link = served.link("-".join(scope), **scope)
        feed = served.get(f"{link}/feeds/{name}")
        assert feed.status_code == 200, name
        assert Calendar.from_ical(feed.data).walk("VEVENT") and not Calendar.from_ical(feed.data).errors
        assert served.get(f"{link}/feeds/all.ics").status_code == 404


def test_no_page_leaks_the_link(served: Served, everything: str) -> None:
    for path in ("/", "/trees", "/trees/sats-01", "/calendar"):
        page = served.get(everything + path)
        assert page.status_code == 200, path
        assert page.headers["Referrer-Policy"] == "no-referrer"
        policy = page.headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy and "unsafe-inline" not in policy
        title = re.search(r"<title>(.*?)</title>", page.text, re.DOTALL)
        assert title is not None and everything.split("/")[2] not in title.group(1)
        assert not re.search(r"<script(?![^>]*\bsrc=)", page.text) and " style=" not in page.text
    assert "webcal://" in served.get(everything + "/calendar").text


def note_form(served: Served, link: str, **more: str) -> dict[str, str]:
    token = re.search(r'name="form" value="([^"]+)"', served.get(link + "/trees/sats-02").text)
    assert token is not None
    return {"form": token.group(1), "tree": "sats-02", **more}


def journal(served: Served) -> str:
    return "".join(
        path.read_text(encoding="utf-8") for path in sorted((served.folder / "journal").glob("*.yaml"))
    )


def test_a_note_is_taken_once_and_only_from_our_own_page(served: Served, everything: str) -> None:
    link = served.link("bench-side", may_note=True)
    form = note_form(served, link, act="words", words="a few <b>words</b>")
    same = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
    assert served.client.post(everything + "/notes", data=form, headers=same).status_code == 404
    elsewhere = {"Origin": "http://evil.example", "Sec-Fetch-Site": "cross-site"}
    assert served.client.post(link + "/notes", data=form, headers=elsewhere).status_code == 403
    assert (
        served.client.post(link + "/notes", data={**form, "form": "made-up"}, headers=same).status_code == 403
    )
    before = journal(served)
    for _ in range(2):  # a double tap
        assert served.client.post(link + "/notes", data=form, headers=same).status_code == 303
    assert journal(served).count("a few <b>words</b>") == before.count("a few <b>words</b>") + 1
    assert "<b>words</b>" not in served.get(link + "/trees/sats-02").text
    large = {**form, "words": "x" * 400_000}
    assert served.client.post(link + "/notes", data=large, headers=same).status_code == 413


def test_a_link_is_renewed_and_revoked(served: Served) -> None:
    link = served.link("guest")
    assert served.get(link + "/").status_code == 200
    share_renew(served.folder, "guest", "http://x", clock("UTC").date())
    assert served.get(link + "/").status_code == 404
    share_revoke(served.folder, "guest")
    secrets = (served.folder / ".shares.json").read_text(encoding="utf-8")
    assert link.split("/")[2] not in secrets and "guest" not in secrets


def test_publish_writes_what_is_served_and_removes_only_its_own(tmp_path: Path) -> None:
    folder, to = tmp_path / "trees", tmp_path / "public"
    copied(folder, ("sats-01", "pine-03"))
    publish(folder, to, clock)
    (to / "index.html").write_text("mine", encoding="utf-8")
    first = {path: path.stat().st_mtime_ns for path in to.rglob("*.ics")}
    assert to / "all.ics" in first and to / "trees" / "sats-01.ics" in first
    assert not Calendar.from_ical((to / "all.ics").read_bytes()).errors
    publish(folder, to, clock)
    assert {path: path.stat().st_mtime_ns for path in to.rglob("*.ics")} == first
    text = (folder / "collection.yaml").read_text(encoding="utf-8")
    (folder / "collection.yaml").write_text(text.replace("id: pine-03", "id: pine-04"), encoding="utf-8")
    publish(folder, to, clock)
    assert not (to / "trees" / "pine-03.ics").exists() and (to / "trees" / "pine-04.ics").exists()
    assert (to / "index.html").read_text(encoding="utf-8") == "mine"
    assert "trees/pine-03.ics" not in (to / LIST_FILE).read_text(encoding="utf-8")
