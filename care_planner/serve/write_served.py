"""What is served, to disk: every file whole, and the index last."""

from collections.abc import Mapping
from datetime import datetime

from care_planner.calendar.faults import CannotWrite
from care_planner.calendar.revisions import Published
from care_planner.calendar.state_text import write_state_text
from care_planner.calendar.write_calendar import HeldFolder
from care_planner.disk.write_whole import FileMove, sweep, write_stages
from care_planner.serve.names import FEED_FOLDERS
from care_planner.serve.read_served import (
    FEED_NAME,
    INDEX_FILE,
    TAXA_STATE_FILE,
    feed_names,
    read_index,
)
from care_planner.serve.served import ServedFeed, changed, digest_of_bytes, index_text, served_feed


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
        gone = [name for name in feed_names(folder) if name not in files]
        for one in FEED_FOLDERS:
            (folder / one).mkdir(exist_ok=True)
        write_stages(
            [
                [FileMove(folder / TAXA_STATE_FILE, write_state_text(taxa_state))],
                [FileMove(folder / name, data) for name, data in files.items()],
                [FileMove(folder / name, None) for name in gone],
                [FileMove(folder / INDEX_FILE, index_text(index))],
            ]
        )
        return served
    except OSError as fault:
        raise CannotWrite(f"cannot write the feeds in {folder}: {fault.strerror or fault}") from fault
    finally:
        sweep((folder, *(folder / one for one in FEED_FOLDERS)))
