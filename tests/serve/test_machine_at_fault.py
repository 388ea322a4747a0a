"""What people and calendars are told while the machine is at fault, and that serving goes on after it."""

import logging
import re
import socket
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from threading import Thread
from types import SimpleNamespace
from typing import Any

import pytest
from serving import clock, looping

from care_planner.note.take import note
from care_planner.serve import patient_server as patience
from care_planner.serve import planner as planning
from care_planner.serve.app import create_app
from care_planner.serve.notebook import Notebook
from care_planner.serve.patient_server import patient_server
from care_planner.serve.planner import Planner
from care_planner.serve.server_log import NoSecrets, Seldom
from care_planner.serve.service import Service
from care_planner.serve.share_links import share_add

COLLECTION = """\
site:
  name: Yard
  latitude: 50.8
  longitude: 4.4
  timezone: Europe/Brussels
  weather:
    monthly:
      tmin_c: [0, 0, 2, 4, 8, 11, 13, 13, 10, 7, 3, 1]
      tmax_c: [6, 7, 11, 15, 19, 22, 24, 24, 20, 15, 10, 6]
benches: {open: {}}
trees:
  - {id: maple-01, taxon: japanese-maple, bench: open, age: young}
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "yard").mkdir()
    (tmp_path / "yard" / "collection.yaml").write_text(COLLECTION, encoding="utf-8")
    return tmp_path / "yard"


def link_of(folder: Path) -> str:
    wanted = {"tree": None, "bench": None, "taxon": None, "work": None}
    lines = share_add(folder, "anna", wanted, False, "http://x", clock("UTC").date())  # type: ignore[arg-type]
    found = re.search(r"/g/[^/]+", "\n".join(lines))
    assert found is not None
    return found[0]


def until(what: Callable[[], Any], seconds: float = 60.0) -> None:
    end = time.monotonic() + seconds
    while not what():
        assert time.monotonic() < end, "it never came"
        time.sleep(0.02)


@contextmanager
def running(planner: Planner) -> Iterator[Planner]:
    planner.start()
    try:
        yield planner
    finally:
        planner.stop()


def test_the_planner_outlives_a_time_without_file_handles(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(planning, "TRY_SOON_AFTER_S", 0.05)
    broken = True

    def clock_that_needs_a_file(zone: str) -> datetime:
        if broken:
            raise OSError(24, "Too many open files")
        return clock(zone)

    with running(Planner(folder, clock_that_needs_a_file, time.monotonic, look_every_s=0.02)) as planner:
        until(lambda: planner.view.faults)
        assert "Too many open files" in planner.view.faults[0] and planner.view.plan is None
        assert planner.wait(planner.ask(), 30.0), "whoever asks while it lasts is answered"
        broken = False
        until(lambda: planner.view.plan is not None and not planner.view.faults)


def test_a_fault_after_a_good_plan_is_shown_and_the_plan_kept(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with running(Planner(folder, clock, time.monotonic, look_every_s=0.02)) as planner:
        until(lambda: planner.view.plan is not None)

        def refuse(*_: object) -> None:
            raise OSError(24, "Too many open files")

        monkeypatch.setattr(planning, "read_signs", refuse)
        until(lambda: planner.view.faults)
        assert planner.view.plan is not None and planner.view.feeds


@pytest.mark.parametrize(
    "text", ["{", '{"version": 99, "shares": []}', '{"version": 1}', "[" * 100_000, b"\xff".decode("latin-1")]
)
def test_where_the_links_cannot_be_read_nobody_is_told_that_theirs_is_gone(folder: Path, text: str) -> None:
    link = link_of(folder)
    planner = Planner(folder, clock, time.monotonic)
    notebook = Notebook(folder, planner, note, time.monotonic)
    client = create_app(Service(folder, clock, planner, notebook, slow_answer_s=0.0)).test_client()
    assert client.get(f"{link}/").status_code == 200
    (folder / ".shares.json").write_text(text, encoding="utf-8")
    for path in ("/", "/feeds/all.ics", "/trees"):
        answer = client.get(link + path)
        assert (answer.status_code, answer.headers["Retry-After"]) == (503, "30"), path
        assert answer.headers["Referrer-Policy"] == "no-referrer"


def test_a_damaged_feed_is_not_gone_before_the_first_plan(folder: Path) -> None:
    link = link_of(folder)
    with running(Planner(folder, clock, time.monotonic, look_every_s=0.02)) as planner:
        until(lambda: planner.view.plan is not None)
    (folder / "served" / "trees" / "maple-01.ics").write_bytes(b"torn")
    again = Planner(folder, clock, time.monotonic)
    again._thread = Thread(target=lambda: None)  # it has not come to its first plan yet
    again.start()
    notebook = Notebook(folder, again, note, time.monotonic)
    client = create_app(Service(folder, clock, again, notebook, slow_answer_s=0.0)).test_client()
    assert client.get(f"{link}/feeds/all.ics").status_code == 200
    torn = client.get(f"{link}/feeds/trees/maple-01.ics")
    assert (torn.status_code, torn.headers["Retry-After"]) == (503, "60")
    assert client.get(f"{link}/feeds/trees/../x").status_code in (404, 503)


def record(words: str, at: float) -> logging.LogRecord:
    made = logging.LogRecord("waitress", logging.WARNING, "", 0, words, None, None)
    made.created = at
    return made


def test_the_same_words_are_logged_once_a_minute_and_never_with_a_secret() -> None:
    seldom = Seldom()
    said = [at for at in range(0, 150) if seldom.filter(record("accept() threw", float(at)))]
    assert said == [0, 60, 120]
    for number in range(3_000):  # other words each time: what is remembered stays small
        seldom.filter(record(f"fault {number}", 1_000.0))
    assert len(seldom._said_at) <= 500
    assert NoSecrets().format(record('GET /g/hush-hush/feeds/all.ics" x', 0)) == 'GET /g/.../feeds/all.ics" x'


def test_what_a_request_says_of_itself_does_not_fill_the_log() -> None:
    """waitress repeats a header that it cannot read: other words with each request, as long as those are."""
    seldom, lines = Seldom(), []
    for number in range(20):
        said = (f"proto-{number}" * 500, "value")
        made = logging.LogRecord("waitress", logging.WARNING, "", 0, "Malformed header %s: %s", said, None)
        made.created = float(number)
        lines += [NoSecrets().format(made)] if seldom.filter(made) else []
    assert len(lines) == 1 and len(lines[0]) <= 300


def app(environ: dict[str, Any], start: Callable[..., Any]) -> list[bytes]:
    start("200 OK", [("Content-Length", "2")])
    return [b"ok"]


@contextmanager
def patient(connections: int) -> Iterator[int]:
    server = patient_server(app, time.monotonic, connections, host="127.0.0.1", port=0, threads=2)
    with looping(server) as port:
        yield port


def test_slow_senders_do_not_shut_others_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """More slow connections than the server takes, one line of a header each at a time, and a good client."""
    monkeypatch.setattr(patience, "REQUEST_S", 1.0)
    slow: list[socket.socket] = []
    with patient(12) as port:
        for _ in range(20):
            one = socket.create_connection(("127.0.0.1", port), 5.0)
            one.sendall(b"GET / HTTP/1.1\r\n")
            slow.append(one)

        def drip() -> None:
            while slow:
                for one in list(slow):
                    with suppress(OSError):
                        one.sendall(b"X-Slow: 1\r\n")
                time.sleep(0.2)

        Thread(target=drip, daemon=True).start()
        began = time.monotonic()
        with socket.create_connection(("127.0.0.1", port), 30.0) as good:
            good.settimeout(30.0)
            good.sendall(b"GET / HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n")
            assert good.recv(100).startswith(b"HTTP/1.1 200 OK")
        took = time.monotonic() - began
        for one in slow:
            one.close()
        slow.clear()
    assert took < 20.0


def test_one_address_holds_a_part_of_all_connections_and_a_proxy_all() -> None:
    closed: list[bool] = []
    sock = SimpleNamespace(close=lambda: closed.append(True))
    for address, others, refused in (
        ("192.0.2.7", ["192.0.2.7"] * 3, True),
        ("192.0.2.7", ["192.0.2.8"] * 3, False),
        ("2001:db8::1", ["2001:db8::2"] * 3, True),
        ("127.0.0.1", ["127.0.0.1"] * 3, False),
    ):
        server = SimpleNamespace(
            active_channels={n: SimpleNamespace(addr=(one, 1)) for n, one in enumerate(others)}
        )
        closed.clear()
        with suppress(TypeError, AttributeError):  # it goes on to make a connection of what is none
            patience._connection(time.monotonic, 3, server, sock, (address, 1))  # type: ignore[arg-type]
        assert bool(closed) is refused, (address, others)
