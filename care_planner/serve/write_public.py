"""The served feeds as plain files, for any web server or object store."""

import os
from pathlib import Path

from care_planner.calendar.faults import CannotWrite
from care_planner.serve.clock import Clock
from care_planner.serve.read_served import FEED_NAME
from care_planner.serve.refresh import Refreshed, refresh
from care_planner.serve.served import ServedFeed
from care_planner.serve.write_served import write_whole

LIST_FILE = "care-planner-files.txt"
HEADERS_FILE = "HEADERS.txt"
HEADERS = """\
Serve every .ics file here with these headers, over https, under an address that is hard to guess:

Content-Type: text/calendar; charset=utf-8
Cache-Control: private, no-cache
ETag and Last-Modified: the server's own, from the file
X-Robots-Tag: noindex

No Content-Disposition: attachment, no content negotiation; compress only when a client asks for it.
Whoever has the address can read the feed.
"""


def publish(folder: Path, to: Path, clock: Clock) -> list[str]:
    """Plan the collection and write every feed to `to`; returns what a person should be told.

    A file that holds its bytes already is left alone; feeds of ours that are no longer made are removed, and
    nothing else is. Raises what `refresh` raises, or CannotWrite.
    """
    made = refresh(folder, clock)
    try:
        written = _write(made, to)
    except OSError as fault:
        raise CannotWrite(f"cannot write in {to}: {fault.strerror or fault}") from fault
    return [*made.messages, f"{len(made.feeds)} feeds in {to}, {written} of them new or changed"]


def _write_feed(path: Path, feed: ServedFeed) -> bool:
    """Write a feed where it differs, with the time of its last change: a web server's Last-Modified."""
    wrote = write_whole(path, feed.plain)
    if wrote:
        at = feed.change.at.timestamp()
        os.utime(path, (at, at))
    return wrote


def _write(made: Refreshed, to: Path) -> int:
    to.mkdir(parents=True, exist_ok=True)
    listed = to / LIST_FILE
    before = set(listed.read_text(encoding="utf-8").splitlines()) if listed.exists() else set()
    names = sorted(made.feeds)
    # Ours from now on, before the first is written: a kill between leaves nothing that nobody owns.
    write_whole(listed, ("\n".join(sorted(before | set(names))) + "\n").encode())
    write_whole(to / HEADERS_FILE, HEADERS.encode())
    written = sum(_write_feed(to / name, made.feeds[name]) for name in names)
    for name in before - set(names):
        if FEED_NAME.fullmatch(name):  # whatever a damaged list says, nothing else is ours
            (to / name).unlink(missing_ok=True)
    write_whole(listed, ("\n".join(names) + "\n").encode())
    return written
