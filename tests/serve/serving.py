"""A collection served in this process, for the tests of the web part."""

import re
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from html import unescape
from pathlib import Path
from threading import Event, Thread
from typing import Any
from zoneinfo import ZoneInfo

from example_copy import copied
from flask import Flask
from flask.testing import FlaskClient
from waitress import wasyncore
from werkzeug.test import TestResponse

from care_planner.note.take import take
from care_planner.serve.app import create_app
from care_planner.serve.notebook import Notebook
from care_planner.serve.planner import Planner
from care_planner.serve.service import Service
from care_planner.serve.share_links import share_add

TRIES = 900
NOW = datetime(2027, 5, 29, 1, 0, tzinfo=UTC)
LINK = re.compile(r"/g/([^/]+)/")
SAME_ORIGIN = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}


def clock(zone: str) -> datetime:
    return NOW.astimezone(ZoneInfo(zone))


@dataclass
class Served:
    folder: Path
    app: Flask
    planner: Planner
    notebook: Notebook
    client: FlaskClient

    def link(self, name: str, may_note: bool = False, **scope: str) -> str:
        wanted = {"tree": None, "bench": None, "taxon": None, "work": None, **scope}
        lines = share_add(self.folder, name, wanted, may_note, "http://x", clock("UTC").date())  # type: ignore[arg-type]
        found = LINK.search("\n".join(lines))
        assert found is not None
        return f"/g/{found.group(1)}"

    def get(self, path: str, **headers: str) -> TestResponse:
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        return self.client.get(path, headers=named)

    def token(self, page: str) -> str:
        """A form's token from a page."""
        found = re.search(r'name="form" value="([^"]+)"', self.get(page).text)
        assert found is not None
        return found.group(1)

    def note(self, link: str, **fields: str) -> TestResponse:
        """Send a form from the link's work page and follow to the page it leads to.

        On a busy machine the page comes before the new plan and offers to show it: then that is taken.
        """
        data = {"form": self.token(link + "/"), **fields}
        page = self.client.post(link + "/notes", data=data, headers=SAME_ORIGIN, follow_redirects=True)
        for _ in range(TRIES):
            again = re.search(r'class="waiting"[^>]*>[^<]*<a class="button" href="([^"]+)"', page.text)
            if again is None:
                return page
            time.sleep(0.2)
            page = self.get(unescape(again[1]))
        return page

    def journal(self) -> str:
        paths = sorted((self.folder / "journal").glob("*.yaml"))
        return "".join(path.read_text(encoding="utf-8") for path in paths)


@contextmanager
def serving(place: Path, folder: Path | None = None) -> Iterator[Served]:
    """Serve a copy of the example, or a folder, once its first plan is made."""
    folder = folder or copied(place / "trees")
    ticks = iter(range(10**9))
    planner = Planner(folder, clock, lambda: float(next(ticks)), look_every_s=0.05)
    # Every look at these ticks is a minute later, so that no test waits for its allowance.
    notebook = Notebook(folder, planner, take, lambda: 60.0 * next(ticks))
    app = create_app(Service(folder, clock, planner, notebook, slow_answer_s=0.0))
    planner.start()
    try:
        assert planner.wait(planner.ask(), 300.0)
        assert planner.view.plan is not None, planner.view.faults
        yield Served(folder, app, planner, notebook, app.test_client())
    finally:
        planner.stop()


@contextmanager
def looping(server: Any) -> Iterator[int]:
    """A waitress server at work in a thread of its own while the block runs; its port."""
    done = Event()

    def work() -> None:
        while not done.is_set():
            wasyncore.loop(timeout=0.05, map=server._map, count=1)
        wasyncore.close_all(server._map)

    thread = Thread(target=work, daemon=True)
    thread.start()
    try:
        yield int(server.effective_port)
    finally:
        done.set()
        thread.join(10.0)
        server.task_dispatcher.shutdown()
