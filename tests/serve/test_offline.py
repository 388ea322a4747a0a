"""Away from the network: pages stay, notes wait and are sent once, in order; in a real browser."""

import json
import os
import re
import signal
import threading
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
from browsing import PHONE, Running, browsing, running, wait_for
from example_copy import copied
from PIL import Image

from care_planner.serve.share_links import share_renew

TREES = (*(f"sats-0{n}" for n in range(1, 6)), "maple-01", "pine-01", "pine-03")
NOTES_OF_A_PHONE, TAPPED = 20, 3
# What a tap on the words' button sends, without drawing a page after each.
SEND_WORDS = """async words => {
  const form = document.querySelector("#words-tree").form;
  for (const one of words) {
    form.elements.words.value = one;
    const body = new URLSearchParams([...new FormData(form), ["act", "words"]]);
    await fetch(form.action, { method: "POST", body });
  }
}"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with browsing() as browser:
        yield browser


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """A server at the real time, since a worker's clock is the browser's; the collection holds no dates.

    Every test has links and trees of its own.
    """
    place = tmp_path_factory.mktemp("offline")
    folder = copied(place / "trees", TREES)
    for path in (folder / "journal").glob("*.yaml"):
        path.unlink()
    text = (folder / "collection.yaml").read_text(encoding="utf-8")
    text = re.sub(r",\s*last_repot: \{[^}]*\}", "", text)
    text = re.sub(r"  away:\n    - \{[^}]*\}\n", "", text)
    (folder / "collection.yaml").write_text(text, encoding="utf-8")
    with running(place, folder, at=datetime.now(UTC).isoformat()) as server:
        yield server


def phone(browser: Any, address: str) -> Any:
    """A phone that has opened the page once and has its worker at work."""
    context = browser.new_context(**PHONE, timezone_id="Asia/Seoul")
    context.set_default_timeout(40_000)
    page = context.new_page()
    page.goto(address)
    page.evaluate("navigator.serviceWorker.ready")
    holds_in(page, "navigator.serviceWorker.controller !== null")
    page.goto(address)
    return page


def eventually(holds: Callable[[], bool], seconds: float = 60.0) -> None:
    """Wait until something holds."""
    until = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < until
        time.sleep(0.05)


def holds_in(page: Any, expression: str) -> None:
    """Wait until JavaScript says so. Asked anew each time: the page's policy lets no script of ours go on
    asking by itself, as `wait_for_function` does."""
    eventually(lambda: bool(page.evaluate(expression)))


def words_of(server: Running, tree: str) -> list[str]:
    return re.findall(rf'tree: {tree}, note: "?([^",}}]+)', server.journal())


def write_note(page: Any, words: str) -> None:
    page.locator("#words-tree").fill(words)
    page.get_by_role("button", name="Note the words").tap()


def test_forty_notes_of_two_phones_are_all_noted_once_while_the_plan_moves(
    browser: Any, server: Running
) -> None:
    trees = {"anna": "sats-01", "ben": "sats-02"}
    phones = {name: phone(browser, f"{server.link(name)}/trees/{tree}") for name, tree in trees.items()}
    for page in phones.values():
        page.context.set_offline(True)
    wanted = {name: [f"{name} {number:02d}" for number in range(NOTES_OF_A_PHONE)] for name in phones}
    for number in range(TAPPED):
        for name, page in phones.items():
            write_note(page, wanted[name][number])
            page.get_by_text(f"{number + 1} note").first.wait_for()
    for name, page in phones.items():
        page.evaluate(SEND_WORDS, wanted[name][TAPPED:])
        page.reload()
        page.get_by_text(f"{NOTES_OF_A_PHONE} notes wait").wait_for()
    assert words_of(server, "sats-01") == words_of(server, "sats-02") == []
    moving = threading.Event()

    def move_the_plan() -> None:
        path, number = server.folder / "journal" / "moving.yaml", 0
        today = datetime.now(UTC).date()
        while not moving.wait(1.0):
            number += 1
            path.write_text(f"- {{date: {today}, tree: maple-01, note: turned {number} times}}\n")

    mover = threading.Thread(target=move_the_plan)
    mover.start()
    try:
        for page in phones.values():
            page.context.set_offline(False)
        for name, tree in trees.items():
            eventually(lambda tree=tree: len(words_of(server, tree)) >= NOTES_OF_A_PHONE, 120.0)  # type: ignore[misc]
            assert words_of(server, tree) == wanted[name]  # each once, in the order of the taps
    finally:
        moving.set()
        mover.join()
    for page in phones.values():
        page.locator("#outbox").wait_for(state="hidden")
        page.context.close()
    assert server.journal().count("by: anna") == server.journal().count("by: ben") == NOTES_OF_A_PHONE


def test_a_note_that_waits_can_be_taken_back_and_outlives_a_restart_of_phone_and_server(
    browser: Any, server: Running
) -> None:
    address = f"{server.link('cara')}/trees/sats-03"
    page = phone(browser, address)
    server.stop()
    write_note(page, "first")
    page.get_by_text("1 note waits").wait_for()
    write_note(page, "second")
    page.get_by_text("2 notes wait").wait_for()
    page.locator("#outbox li").filter(has_text="first").get_by_role("button", name="Take back").tap()
    page.get_by_text("1 note waits").wait_for()
    context = page.context
    page.close()  # the phone is put away; its stores stay
    page = context.new_page()
    page.goto(address)
    page.get_by_text("kept on this phone since").wait_for()
    page.get_by_text("1 note waits").wait_for()
    server.start()
    page.get_by_role("button", name="Send now").tap()
    for _ in range(120):
        if words_of(server, "sats-03"):
            break
        page.goto(address)  # until the server has its plan, and takes notes again
        page.wait_for_timeout(250)
    assert words_of(server, "sats-03") == ["second"]
    context.close()


def test_a_note_whose_answer_was_lost_is_noted_once(browser: Any, server: Running) -> None:
    page = phone(browser, f"{server.link('dora')}/trees/sats-04")
    # The server hangs after it has the request: it notes it when it wakes, after the phone has given up.
    os.kill(server.process.pid, signal.SIGSTOP)  # type: ignore[union-attr]
    write_note(page, "only once")
    page.get_by_text("1 note waits").wait_for()
    os.kill(server.process.pid, signal.SIGCONT)  # type: ignore[union-attr]
    page.goto(page.url)  # opening a page sends what waits
    page.locator("#outbox").wait_for(state="hidden")
    eventually(lambda: words_of(server, "sats-04") != [])
    write_note(page, "after it")  # notes are taken one after the other
    eventually(lambda: "after it" in words_of(server, "sats-04"))
    assert words_of(server, "sats-04") == ["only once", "after it"]
    page.context.close()


def test_a_server_that_hangs_shows_the_kept_page_and_says_so(browser: Any, server: Running) -> None:
    page = phone(browser, f"{server.link('emil')}/trees")
    os.kill(server.process.pid, signal.SIGSTOP)  # type: ignore[union-attr]
    try:
        began = time.monotonic()
        page.goto(page.url)
        page.get_by_text("kept on this phone since").wait_for()
        assert time.monotonic() - began < 12  # three seconds, on a busy machine
    finally:
        os.kill(server.process.pid, signal.SIGCONT)  # type: ignore[union-attr]
    page.context.close()


def test_a_slow_answer_is_waited_for_where_no_page_is_kept(browser: Any, server: Running) -> None:
    link = server.link("emil")
    page = phone(browser, f"{link}/trees/sats-01")
    os.kill(server.process.pid, signal.SIGSTOP)  # type: ignore[union-attr]
    waker = threading.Timer(4.0, os.kill, (server.process.pid, signal.SIGCONT))  # type: ignore[union-attr]
    waker.start()
    page.goto(f"{link}/trees/sats-02")  # never opened before; the worker gives a kept page three seconds
    page.get_by_role("heading", name="sats-02", exact=True).wait_for()
    waker.join()
    page.context.close()


def test_photographs_stay_too(browser: Any, server: Running) -> None:
    link = server.link("fred")
    (server.folder / "photos").mkdir(exist_ok=True)
    picture = "2027-05-29-pine-01-n-aaaaaaaa.jpg"
    Image.new("RGB", (1600, 900), "red").save(server.folder / "photos" / picture)
    note = f"- {{date: {datetime.now(UTC).date()}, tree: pine-01, photo: photos/{picture}}}\n"
    (server.folder / "journal" / "photographed.yaml").write_text(note, encoding="utf-8")
    wait_for(f"{link}/trees/pine-01", holds=picture.encode())
    page = phone(browser, f"{link}/trees/pine-01")
    holds_in(page, "caches.match(document.querySelector('.photo').src).then(one => Boolean(one))")
    page.context.set_offline(True)
    page.goto(f"{link}/trees/pine-01")
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
    page.locator("img.photo").scroll_into_view_if_needed()
    holds_in(page, "document.querySelector('.photo').naturalWidth === 640")
    page.context.close()


def test_a_note_that_the_browser_cannot_keep_stays_on_the_page(browser: Any, server: Running) -> None:
    page = phone(browser, f"{server.link('gerd')}/trees/pine-03")
    (worker,) = page.context.service_workers
    worker.evaluate(
        "void (IDBObjectStore.prototype.put = () => { throw new DOMException('', 'QuotaExceededError'); })"
    )
    page.context.set_offline(True)
    write_note(page, "no room for this")
    page.get_by_role("heading", name="Not noted yet").wait_for()
    page.get_by_text("no room for this").wait_for()
    page.context.set_offline(False)
    page.get_by_role("button", name="Try again").tap()
    eventually(lambda: words_of(server, "pine-03") == ["no room for this"])
    page.context.close()


def test_a_renewed_link_leaves_nothing_behind_and_shows_what_was_unsent(
    browser: Any, server: Running
) -> None:
    old, other = server.link("hans"), server.link("ida")
    page = phone(browser, f"{old}/trees/sats-01")
    page.goto(f"{other}/trees/sats-02")
    page.evaluate("navigator.serviceWorker.ready")
    page.goto(f"{old}/trees/sats-01")
    holds_in(page, "caches.keys().then(all => all.length === 2)")
    names = page.evaluate("caches.keys()")
    assert not any(secret in name for secret in server.secrets for name in names)
    page.context.set_offline(True)
    write_note(page, "never sent")
    page.get_by_text("1 note waits").wait_for()
    share_renew(server.folder, "hans", "http://x", datetime.now(UTC).date())
    page.context.set_offline(False)
    page.goto(f"{old}/trees/sats-01")
    page.get_by_role("heading", name="This link no longer works").wait_for()
    assert "never sent" in page.locator("main").inner_text()
    page.goto(f"{other}/trees/sats-02")
    assert len(page.evaluate("caches.keys()")) == 1  # the other link's stays
    assert "never sent" not in server.journal()
    page.context.close()


def test_no_secret_stands_in_the_manifest_or_the_worker(browser: Any, server: Running) -> None:
    link = server.link("emil")
    page = phone(browser, f"{link}/")
    for name in ("app.webmanifest", "sw.js"):
        text = page.evaluate("name => fetch(name).then(answer => answer.text())", f"{link}/{name}")
        assert text and not any(secret in text for secret in server.secrets)
    manifest = json.loads(page.evaluate("name => fetch(name).then(a => a.text())", f"{link}/app.webmanifest"))
    assert manifest["start_url"] == manifest["scope"] == "./"
    assert {"192x192", "512x512"} <= {icon["sizes"] for icon in manifest["icons"]}
    page.context.close()


def test_a_new_version_of_the_worker_takes_the_old_ones_place(
    browser: Any, server: Running, monkeypatch: pytest.MonkeyPatch
) -> None:
    link = server.link("jana")
    page = phone(browser, f"{link}/trees/sats-01")
    (before,) = page.evaluate("caches.keys()")
    server.stop()
    server.start("import care_planner.serve.app as a; a.read_version = lambda: 'another'")
    page.evaluate("navigator.serviceWorker.getRegistration().then(one => one.update())")
    holds_in(page, "caches.keys().then(all => all.length === 1 && all[0].endsWith('-another'))")
    assert not before.endswith("-another")
    page.context.set_offline(True)
    page.goto(f"{link}/trees")  # kept again by the new one
    page.get_by_text("kept on this phone since").wait_for()
    page.context.close()


def test_a_doubt_waits_with_its_words_until_somebody_says(browser: Any, server: Running) -> None:
    link = server.link("kurt")
    page = phone(browser, f"{link}/trees/sats-05")
    steps = page.get_by_role("group", name=re.compile("flowers are open"))
    today = datetime.now(UTC).date()
    share = server.folder / "journal" / "before.yaml"
    share.write_text(f"- {{date: {today}, tree: sats-05, saw: {{open: 75%}}}}\n", encoding="utf-8")
    page.context.set_offline(True)
    steps.get_by_role("button", name=re.compile("a few")).tap()
    page.get_by_text("1 note waits").wait_for()
    page.context.set_offline(False)
    page.get_by_role("button", name="It is right: note it").wait_for()
    page.get_by_text(re.compile("75 ?% open was noted on|far from")).first.wait_for()
    assert "open: 0.1" not in server.journal()
    page.get_by_role("button", name="It is right: note it").tap()
    page.locator("#outbox").wait_for(state="hidden")
    assert len(re.findall(r"open: 0\.1\b", server.journal())) == 1
    page.context.close()
