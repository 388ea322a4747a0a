"""Run as a process: forks a working child for each line it reads, and kills it after so many seconds.

A host has the program imported once. It kills its own child, whose process id nobody else can have before
it is waited for.
"""

import contextlib
import io
import os
import signal
import sys
import time
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from itertools import count
from pathlib import Path

FIRST_DAY = date(2027, 3, 1)
Work = Callable[[Path, int], Iterator[str]]


def noting(folder: Path, number: int) -> Iterator[str]:
    """Notes, one after the other; yields what each was answered."""
    from care_planner.note.take import note

    for again in count():
        words = f"note round {number} {again}"
        yield note(folder, ("sats-01", "sats-02"), words, FIRST_DAY, FIRST_DAY, False)[0]


def planning(folder: Path, number: int) -> Iterator[str]:
    """Plans of one day after the other."""
    from care_planner.cli import main

    for again in count():
        today = FIRST_DAY + timedelta(days=number + again % 9)
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            command = ["plan", str(folder), "--today", str(today), "--out", str(folder / "calendar")]
            main(command, standalone_mode=False)
        yield "planned"


def serving(folder: Path, number: int) -> Iterator[str]:
    """Notes that a phone sends to a server; the one that a kill left unanswered is sent again first."""
    from care_planner.note.take import take
    from care_planner.serve.app import create_app
    from care_planner.serve.note_parts import numbered
    from care_planner.serve.notebook import Notebook
    from care_planner.serve.planner import Planner
    from care_planner.serve.service import Service

    at = datetime(FIRST_DAY.year, FIRST_DAY.month, FIRST_DAY.day, 1, tzinfo=UTC)
    ticks = count(step=60)  # every look is a minute later: no note waits for its allowance
    planner = Planner(folder, lambda zone: at, lambda: float(next(ticks)), look_every_s=0.05)
    notebook = Notebook(folder, planner, take, lambda: float(next(ticks)))
    client = create_app(Service(folder, lambda zone: at, planner, notebook, 0.0)).test_client()
    link = (folder / "link.txt").read_text(encoding="utf-8")
    planner.start()
    try:
        planner.wait(1, 60.0)
        sent = folder / "serve.sent"
        waiting = sent.read_text(encoding="utf-8").split("\n")[-2:-1] if sent.exists() else []
        for again in count():
            words = waiting.pop() if waiting else f"serve round {number} {again}"
            with sent.open("a", encoding="utf-8") as file:
                file.write(f"{words}\n")
            id = numbered(words, 0, made=True)
            fields = [["act", "words"], ["tree", "sats-01"], ["words", words]]
            rows = [{"id": id, "fields": fields}]
            answer = client.post(link + "outbox", json=rows, headers={"Sec-Fetch-Site": "same-origin"})
            found = answer.get_json()["notes"] if answer.status_code == 200 else []
            yield words if found and found[0]["status"] in ("noted", "have") else ""
    finally:
        planner.stop()


WORKS: dict[str, Work] = {"note": noting, "plan": planning, "serve": serving}
AT_MOST = {"note": 400, "plan": 60, "serve": 400}  # a child ends by itself after so many


def work(folder: Path, kind: str, number: int, at_most: int) -> None:
    """Work, and write down each acknowledgement the moment it is there."""
    told = os.open(folder / f"{kind}.told", os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    with contextlib.closing(WORKS[kind](folder, number)) as answers:
        for _, answer in zip(range(at_most), answers, strict=False):
            os.write(told, f"{answer}\n".encode() if answer else b"")
    os.close(told)


def main() -> None:
    """KIND FOLDER PLANTED: prints how long one run takes here, then for each line the signal of its end."""
    kind, folder = sys.argv[1], Path(sys.argv[2])
    exec(sys.argv[3], {})
    # The first run imports, the second says how long a run takes on this machine; nobody kills these.
    for number in (0, 1):
        began = time.monotonic()
        work(folder, kind, number, 1)
    print(time.monotonic() - began, flush=True)
    for line in sys.stdin:
        number, after_s = line.split()
        child = os.fork()
        if child == 0:
            code = 1
            try:
                work(folder, kind, int(number), AT_MOST[kind])
                code = 0
            finally:
                os._exit(code)
        time.sleep(float(after_s))
        os.kill(child, signal.SIGKILL)
        print(os.WTERMSIG(os.waitpid(child, 0)[1]), flush=True)


if __name__ == "__main__":
    main()
