"""What serving costs: feeds and 304s beside a static file of the same server; 50 subscribers during notes.

Run from the project's root: python tests/benchmarks/serve_load.py [SUBSCRIBERS NOTES]

The server is a process of its own on loopback; all figures are from one run on one machine, as ratios to the
static file where they are rates. The second part fails loudly: an answer that is no calendar, or older than
the plan a note had led to before the answer was asked for, ends it with exit code 1.
"""

import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from http.client import HTTPConnection
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Event, Lock
from urllib.parse import urlencode

from care_planner.serve.share_links import share_add

EXAMPLE = Path(__file__).parents[2] / "examples" / "gangneung"
PORT = 8471
SECONDS = 4.0
CLIENTS = 4
SUBSCRIBERS, NOTES = 50, 8
FEED = "feeds/all.ics"
SERVER = """
import sys, time
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo
from care_planner.serve.start import serve
at, start = datetime.fromisoformat("2027-05-29T01:00:00+00:00"), time.monotonic()
clock = lambda zone: (at + timedelta(seconds=time.monotonic() - start)).astimezone(ZoneInfo(zone))
serve(Path(sys.argv[1]), "127.0.0.1", int(sys.argv[2]), clock, time.monotonic, lambda line: None)
"""
Answer = tuple[int, dict[str, str], bytes]


class Client:
    """One connection that is kept open."""

    def __init__(self) -> None:
        self._connection = HTTPConnection("127.0.0.1", PORT, timeout=30)

    def ask(self, path: str, body: str | None = None, **headers: str) -> Answer:
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        if body is not None:
            named["Content-Type"] = "application/x-www-form-urlencoded"
        self._connection.request("GET" if body is None else "POST", path, body, named)
        answer = self._connection.getresponse()
        return answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read()


def rate(path: str, expected: int, **headers: str) -> float:
    """Answers a second over a few connections at once."""

    def work(until: float) -> int:
        client, count = Client(), 0
        while time.monotonic() < until:
            status, _, _ = client.ask(path, **headers)
            assert status == expected, status
            count += 1
        return count

    with ThreadPoolExecutor(CLIENTS) as pool:
        counts = pool.map(work, [time.monotonic() + SECONDS] * CLIENTS)
    return sum(counts) / SECONDS


def rates(base: str) -> None:
    """Print how feeds do beside the style sheet, which is a file in memory without a link to check."""
    _, headers, body = Client().ask(base + FEED)
    static = rate("/static/care.css", 200)
    print(f"static file             {static:7.0f} answers a second")
    for name, more, expected in (
        ("304 by tag", {"If_None_Match": headers["etag"]}, 304),
        ("304 by date", {"If_Modified_Since": headers["last-modified"]}, 304),
        ("feed, gzip", {"Accept_Encoding": "gzip"}, 200),
        (f"feed, {len(body) // 1000} kB plain", {}, 200),
    ):
        found = rate(base + FEED, expected, **more)
        print(f"{name:<23} {found:7.0f} answers a second, {found / static:.2f} of the static file")


def subscribers(base: str, number: int, notes: int) -> int:
    """Poll while notes come in; returns the number of answers. Raises AssertionError for a bad or old one."""
    known: list[str] = [Client().ask(base + FEED)[1]["etag"]]
    lock, done = Lock(), Event()

    def poll() -> int:
        client, count = Client(), 0
        while not done.is_set():
            with lock:
                oldest_right = len(known) - 1
            status, headers, body = client.ask(base + FEED)
            assert status == 200 and body.endswith(b"END:VCALENDAR\r\n"), status
            with lock:
                place = known.index(headers["etag"]) if headers["etag"] in known else len(known)
            assert place >= oldest_right, "an answer older than the plan before it"
            count += 1
            done.wait(0.2)
        return count

    with ThreadPoolExecutor(number) as pool:
        polls = [pool.submit(poll) for _ in range(number)]
        try:
            for count in range(notes):
                take_note(base, count)
                tag = Client().ask(base + FEED)[1]["etag"]
                with lock:
                    if tag != known[-1]:  # not every note moves something
                        known.append(tag)
        finally:
            done.set()
        return sum(one.result() for one in polls)


def take_note(base: str, number: int) -> None:
    """Note a share open, and wait for the plan that knows it."""
    client = Client()
    page = client.ask(base)[2].decode()
    token = re.search(r'name="form" value="([^"]+)"', page)
    assert token is not None
    fields = {
        "form": token[1],
        "tree": "sats-02",
        "act": "open",
        "open": str(1 + (10 + 10 * number) % 99),
        "sure": "yes",
    }
    status, headers, _ = client.ask(base + "notes", urlencode(fields), Sec_Fetch_Site="same-origin")
    assert status == 303, status
    for _ in range(100):
        if b'class="waiting"' not in client.ask(headers["location"])[2]:
            return
        time.sleep(0.1)
    raise AssertionError("no plan came")


def until(ready: Callable[[], bool]) -> None:
    """Wait for the server."""
    for _ in range(900):
        try:
            if ready():
                return
        except OSError:
            pass
        time.sleep(0.1)
    raise AssertionError("the server does not answer")


def main() -> None:
    """Both parts, on a copy of the example."""
    number, notes = map(int, sys.argv[1:3]) if len(sys.argv) == 3 else (SUBSCRIBERS, NOTES)
    with TemporaryDirectory() as place:
        folder = Path(place) / "trees"
        shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("calendar", "served", "identity.txt"))
        wanted = {"tree": None, "bench": None, "taxon": None, "work": None}
        lines = share_add(folder, "load", wanted, True, "http://x", date(2027, 5, 29))  # type: ignore[arg-type]
        base = next(line for line in lines if "http://x" in line).strip().removeprefix("http://x")
        server = subprocess.Popen([sys.executable, "-c", SERVER, str(folder), str(PORT)])
        try:
            until(lambda: Client().ask(base + FEED)[0] == 200)
            rates(base)
            start = time.monotonic()
            answers = subscribers(base, number, notes)
            took = time.monotonic() - start
            print(f"{number} subscribers, {notes} notes: {answers} answers in {took:.1f} s, all right")
        finally:
            server.terminate()
            server.wait()


if __name__ == "__main__":
    main()
