"""What is served, to disk: every file whole, and the index last."""

import os
from collections.abc import Mapping
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from care_planner.calendar.faults import CannotWrite
from care_planner.calendar.read_published import bytes_of
from care_planner.calendar.revisions import Published
from care_planner.calendar.state_text import write_state_text
from care_planner.calendar.write_calendar import HeldFolder
from care_planner.serve.names import FEED_FOLDERS
from care_planner.serve.read_served import (
    FEED_NAME,
    INDEX_FILE,
    TAXA_STATE_FILE,
    feed_names,
    read_index,
)
from care_planner.serve.served import ServedFeed, changed, digest_of_bytes, index_text, served_feed

HALF_WRITTEN = ".half-written"


def write_served(
    held: HeldFolder,
    files: Mapping[str, bytes],
    taxa_state: Published,
    known: Mapping[str, ServedFeed],
    now: datetime,
) -> dict[str, ServedFeed]:
    """Write the feeds of a folder and remember when each changed; returns them ready to send.

    `known` are feeds already in memory: those that did not change are not packed again. Feeds that are no
    longer made are removed, but when they last changed stays known, should they come back. The state of the
    taxon feeds goes first: it may only be ahead of what phones have seen. Raises CannotWrite; what stood
    there before is then still whole.
    """
    folder = held.path
    try:
        index = read_index(folder)
        write_whole(folder / TAXA_STATE_FILE, write_state_text(taxa_state))
        served = {}
        for name, data in files.items():
            if not FEED_NAME.fullmatch(name):
                raise CannotWrite(f"{name!r} is no name for a feed")
            digest = digest_of_bytes(data)
            before = known.get(name)
            index[name] = changed(digest, index.get(name), now)
            if before is not None and before.change == index[name]:
                served[name] = before
            else:
                served[name] = served_feed(data, index[name])
            write_whole(folder / name, data)
        for name in feed_names(folder):
            if name not in files:
                (folder / name).unlink(missing_ok=True)
        write_whole(folder / INDEX_FILE, index_text(index))
        return served
    except OSError as fault:
        raise CannotWrite(f"cannot write the feeds in {folder}: {fault.strerror or fault}") from fault
    finally:
        _sweep(folder)


def write_whole(path: Path, data: bytes) -> bool:
    """Put bytes in a file's place in one step, unless they are there already. Returns whether it wrote."""
    if bytes_of(path) == data:
        return False
    path.parent.mkdir(parents=True, exist_ok=True)
    draft = path.with_name(f".{path.name}{HALF_WRITTEN}")
    with draft.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    draft.replace(path)
    return True


def _sweep(folder: Path) -> None:
    """Remove what was written beside its place and never moved there."""
    for place in (folder, *(folder / one for one in FEED_FOLDERS)):
        for left in place.glob(f".*{HALF_WRITTEN}"):
            with suppress(OSError):
                left.unlink()
