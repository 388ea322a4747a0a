"""Photographs sent from a page: kept once, shown on their branch, bounded, and never lost without a word."""

import re
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from hashlib import sha256
from io import BytesIO
from threading import Event, Semaphore
from typing import Any
from unittest.mock import Mock

import pytest
from example_copy import copied
from PIL import Image
from serving import SAME_ORIGIN, Served, serving
from werkzeug.test import TestResponse

from care_planner.disk.write_lock import held
from care_planner.serve import notebook, photo_routes
from care_planner.serve.allowance import Allowance
from care_planner.serve.photo import CannotRead


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    place = tmp_path_factory.mktemp("photos")
    with serving(place, copied(place / "trees", ("sats-01", "pine-01", "pine-02"))) as served:
        yield served


@pytest.fixture(scope="module")
def link(served: Served) -> str:
    return served.link("anna", may_note=True)


def photo_answer(
    served: Served, link: str, data: bytes, token: str = "", tree: str = "sats-01", branch: str = "left-1"
) -> TestResponse:
    fields = {
        "form": token or served.token(f"{link}/trees/{tree}"),
        "tree": tree,
        "branch": branch,
        "photo": (BytesIO(data), "a.jpg"),
    }
    return served.client.post(link + "/photos", data=fields, headers=SAME_ORIGIN)


def photo_sent(served: Served, link: str, data: bytes, *more: str, **named: str) -> str:
    answer = photo_answer(served, link, data, *more, **named)
    assert answer.status_code == 303
    return served.get(answer.headers["Location"]).text


def test_a_photograph_is_kept_once_shown_on_its_branch_and_to_nobody_else(served: Served, link: str) -> None:
    out = BytesIO()
    Image.new("RGB", (2000, 10), "red").save(out, "JPEG")
    token = served.token(f"{link}/trees/sats-01")
    for _ in range(2):  # a double tap
        page = photo_sent(served, link, out.getvalue(), token)
        assert "Noted: sats-01: left-1: a photograph, Sat 29 May" in page
    (kept,) = (served.folder / "photos").iterdir()
    assert f"branch: left-1, photo: photos/{kept.name}" in served.journal().replace('"', "")
    shown = re.search(r'<img class="photo" src="([^"]+)" alt="left-1 on 29 May 2027"', page)
    assert shown is not None
    picture = served.get(shown[1])
    assert picture.status_code == 200 and picture.content_type == "image/jpeg"
    assert Image.open(BytesIO(picture.data)).size == (640, 3)  # small on the page
    assert Image.open(BytesIO(served.get(shown[1].partition("?")[0]).data)).size == (1600, 8)
    other = served.link("ben", tree="pine-01")
    assert served.get(f"{other}/photos/{kept.name}").status_code == 404
    assert served.get(f"{link}/photos/..%2fcollection.yaml").status_code == 404
    assert "</strong> This is no JPEG" in photo_sent(served, link, b"GIF89a")
    assert [path.name for path in (served.folder / "photos").iterdir()] == [kept.name]


def test_a_link_without_allowance_has_no_picture_decoded(
    served: Served, link: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    token = served.token(f"{link}/trees/sats-01")
    monkeypatch.setattr(served.notebook, "_allowance", Allowance(1, 1e9))
    monkeypatch.setattr(photo_routes, "small_photo", decoded := Mock(side_effect=CannotRead("no JPEG")))
    assert "no JPEG" in photo_sent(served, link, b"one", token)
    assert photo_answer(served, link, b"two", token).status_code == 429
    assert decoded.call_count == 1


def test_a_picture_that_cannot_be_noted_just_now_is_told_so_and_not_kept(
    served: Served, link: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = BytesIO()
    Image.new("RGB", (20, 20), "blue").save(out, "JPEG")
    token = served.token(f"{link}/trees/sats-01")
    before = sorted((served.folder / "photos").glob("*"))
    monkeypatch.setattr(notebook, "WAIT_FOR_LOCK_S", 0.2)
    with held(served.folder / "journal" / ".lock"):
        assert photo_answer(served, link, out.getvalue(), token).status_code == 503
    assert sorted((served.folder / "photos").glob("*")) == before
    assert "left-1: a photograph" in photo_sent(served, link, out.getvalue(), token)


def test_a_fifth_photograph_at_once_is_asked_to_come_again(
    served: Served, link: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    waiting, go = Semaphore(0), Event()

    def slow(data: bytes = b"") -> Any:
        waiting.release()
        assert go.wait(30)
        return sha256(data)

    monkeypatch.setattr(photo_routes, "sha256", slow)
    token = served.token(f"{link}/trees/sats-01")

    def send() -> int:
        fields = {"form": token, "tree": "sats-01", "branch": "", "photo": (BytesIO(b"GIF89a"), "a.jpg")}
        return served.app.test_client().post(link + "/photos", data=fields, headers=SAME_ORIGIN).status_code

    with ThreadPoolExecutor(5) as pool:
        four = [pool.submit(send) for _ in range(photo_routes.SENT_AT_ONCE)]
        assert all(waiting.acquire(timeout=30) for _ in four)
        try:
            fifth = pool.submit(send).result(20)
        finally:
            go.set()
        assert fifth == 503 and [one.result(30) for one in four] == [303] * len(four)


def test_a_tree_without_forms_of_flower_has_photographs_too(served: Served, link: str) -> None:
    out = BytesIO()
    Image.new("RGB", (30, 40), "green").save(out, "PNG")
    page = photo_sent(served, link, out.getvalue(), tree="pine-02", branch="")
    assert "Noted: pine-02: whole tree: a photograph, Sat 29 May" in page
    assert served.planner.wait(served.planner.ask(), 300.0)
    assert served.planner.view.faults == ()
    assert 'alt="pine-02 on 29 May 2027"' in served.get(f"{link}/trees/pine-02").text
