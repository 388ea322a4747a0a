"""A collection served by a process of its own on loopback, for the benchmarks that ask it much."""

import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from http.client import HTTPConnection
from pathlib import Path
from socket import socket
from tempfile import TemporaryDirectory
from urllib.parse import urlencode

from care_planner.serve.share_links import share_add

EXAMPLE = Path(__file__).parents[2] / "examples" / "gangneung"
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

    def __init__(self, port: int) -> None:
        self._connection = HTTPConnection("127.0.0.1", port, timeout=60)

    def ask(self, path: str, body: str | None = None, **headers: str) -> Answer:
        """GET, or POST with a body; header names have _ for -."""
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        if body is not None:
            named |= {"Content-Type": "application/x-www-form-urlencoded", "Sec-Fetch-Site": "same-origin"}
        self._connection.request("GET" if body is None else "POST", path, body, named)
        answer = self._connection.getresponse()
        return answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read()


@dataclass
class Apart:
    """A server: its folder, port, process and the paths of its links, each of which may note."""

    folder: Path
    port: int
    process: "subprocess.Popen[bytes]"
    links: list[str]
    _tokens: dict[str, str] = field(default_factory=dict)

    def client(self) -> Client:
        """A new connection."""
        return Client(self.port)

    def note(self, number: int, **fields: str) -> str | None:
        """Send a form by one link after the other, since each has its allowance; the page it leads to.

        None where the server said that it is busy.
        """
        link = self.links[number % len(self.links)]
        client = self.client()
        if link not in self._tokens:
            found = re.search(r'name="form" value="([^"]+)"', client.ask(link)[2].decode())
            if found is None:  # the links cannot be read just now
                return None
            self._tokens[link] = found[1]
        body = urlencode({"form": self._tokens[link], "act": "words", "sure": "yes", **fields})
        status, headers, answer = client.ask(link + "notes", body)
        if status == 503:
            return None
        assert status == 303, f"{status}: {answer[:2000].decode()}"
        return headers["location"]

    def knows(self, location: str) -> bool:
        """Whether the plan knows of the note that led to a page."""
        return b'class="waiting"' not in self.client().ask(location)[2]

    def memory_mb(self, what: str = "VmRSS") -> float:
        """What the process holds in memory now, or its most until now with VmHWM (Linux)."""
        text = Path(f"/proc/{self.process.pid}/status").read_text(encoding="ascii")
        found = re.search(rf"{what}:\s+(\d+)", text)
        return int(found[1]) / 1024 if found else 0.0

    def processor_s(self) -> float:
        """Seconds of the processor that the process took until now (Linux)."""
        fields = Path(f"/proc/{self.process.pid}/stat").read_text(encoding="ascii").rsplit(") ", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / 100


@contextmanager
def served_apart(original: Path, links: int) -> Iterator[Apart]:
    """Serve a copy of a collection with so many links, once its first feed is there."""
    with TemporaryDirectory() as place, socket() as free:
        folder = Path(place) / "trees"
        left_out = ("calendar", "served", "identity.txt", ".shares.json")
        shutil.copytree(original, folder, ignore=shutil.ignore_patterns(*left_out))
        wanted = {"tree": None, "bench": None, "taxon": None, "work": None}
        paths = []
        for number in range(links):
            lines = share_add(folder, f"load-{number}", wanted, True, "http://x", date(2027, 5, 29))  # type: ignore[arg-type]
            line = next(line for line in lines if "http://x" in line)
            paths.append(line.strip().removeprefix("http://x"))
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
        free.close()
        errors = Path(place) / "errors.txt"
        with errors.open("wb") as log:
            process = subprocess.Popen([sys.executable, "-c", SERVER, str(folder), str(port)], stderr=log)
        try:
            until(lambda: Client(port).ask(paths[0] + FEED)[0] == 200)
            yield Apart(folder, port, process, paths)
            assert process.poll() is None, f"the server went: {errors.read_text()[-2000:]}"
        finally:
            process.terminate()
            process.wait()


def until(ready: Callable[[], bool], seconds: float = 900.0) -> None:
    """Wait for the server."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        try:
            if ready():
                return
        except OSError:
            pass
        time.sleep(0.2)
    raise AssertionError("the server does not answer")
