"""A real browser, and the production server in a process of its own whose clock the tests set."""

import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from example_copy import copied
from serving import LINK

from care_planner.serve.share_links import share_add

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
AXE = Path(__file__).parents[2] / "node_modules" / "axe-core" / "axe.min.js"
PHONE = {"viewport": {"width": 360, "height": 740}, "has_touch": True, "is_mobile": True}
BIG_PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
DESKTOP = {"viewport": {"width": 1280, "height": 900}}
AT = "2027-05-29T01:00:00+00:00"
SERVER = """
import sys, time
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo
from care_planner.serve.start import serve
at = Path(sys.argv[3])
clock = lambda zone: datetime.fromisoformat(at.read_text()).astimezone(ZoneInfo(zone))
serve(Path(sys.argv[1]), "127.0.0.1", int(sys.argv[2]), clock, time.monotonic, print)
"""


@contextmanager
def browsing() -> Iterator[Any]:
    """A browser of this machine; the test is skipped where there is none, and says what is missing."""
    if CHROMIUM is None:
        pytest.skip("no chromium on this machine: apt-get install chromium")
    playwright = pytest.importorskip("playwright.sync_api", reason="no playwright: pip install playwright")
    with playwright.sync_playwright() as started:
        browser = started.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


@dataclass
class Running:
    """A server process over a folder; `at` is the file that holds its time."""

    folder: Path
    port: int
    at: Path
    log: Path
    secrets: list[str] = field(default_factory=list)
    links: dict[str, str] = field(default_factory=dict)
    process: "subprocess.Popen[bytes] | None" = None

    def start(self, first: str = "") -> None:
        """Start it; `first` is Python to run before, in its process."""
        with self.log.open("a") as out:
            args = [
                sys.executable,
                "-c",
                f"{first}\n{SERVER}",
                str(self.folder),
                str(self.port),
                str(self.at),
            ]
            self.process = subprocess.Popen(args, stdout=out, stderr=subprocess.STDOUT)
        wait_for(f"http://127.0.0.1:{self.port}/static/care.css")

    def stop(self) -> None:
        assert self.process is not None
        self.process.send_signal(signal.SIGCONT)
        self.process.send_signal(signal.SIGTERM)
        self.process.wait(30)

    def set_time(self, at: str) -> None:
        self.at.write_text(at)

    def link(self, name: str, may_note: bool = True, **scope: str) -> str:
        """The address of a new link, once a plan is there; the same name is the same link."""
        if name in self.links:
            return self.links[name]
        wanted = {"tree": None, "bench": None, "taxon": None, "work": None, **scope}
        lines = share_add(self.folder, name, wanted, may_note, "http://x", date(2027, 5, 29))  # type: ignore[arg-type]
        found = LINK.search("\n".join(lines))
        assert found is not None
        self.secrets.append(found[1])
        address = self.links[name] = f"http://127.0.0.1:{self.port}/g/{found[1]}"
        wait_for(f"{address}/trees", without=b"The plan is being made")
        return address

    def journal(self) -> str:
        paths = sorted((self.folder / "journal").glob("*.yaml"))
        return "".join(path.read_text(encoding="utf-8") for path in paths)


@contextmanager
def running(place: Path, folder: Path | None = None, at: str = AT) -> Iterator[Running]:
    """Serve a copy of the example, or a folder; no secret may stand in its log."""
    folder = folder or copied(place / "trees")
    clock = place / "at"
    clock.write_text(at)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = Running(folder, port, clock, place / "log")
    server.start()
    try:
        yield server
    finally:
        server.stop()
    log = server.log.read_text(encoding="utf-8")
    assert not any(secret in log for secret in server.secrets)


def wait_for(address: str, without: bytes | None = None, holds: bytes = b"") -> None:
    """Wait until an address answers, with a page that does not hold `without` and does hold `holds`."""
    for _ in range(1500):
        try:
            with urllib.request.urlopen(address, timeout=5) as answer:
                page = answer.read()
            if (without is None or without not in page) and holds in page:
                return
        except (urllib.error.URLError, OSError):
            pass
        time.sleep(0.1)
    raise AssertionError(f"{address} is not served")
