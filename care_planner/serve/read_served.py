"""What was last served, from disk: the index, the state of the taxon feeds, and the feeds themselves."""

import re
from datetime import UTC, datetime
from pathlib import Path

from care_planner.calendar.check_bytes import check_bytes
from care_planner.calendar.read_published import bytes_of
from care_planner.calendar.revisions import Published
from care_planner.calendar.state_text import TooNew, Unreadable, parse_state_text
from care_planner.serve.names import ALL_FEED, FEED_FOLDERS, WALKS_FEED, WORKS_FEED
from care_planner.serve.served import (
    BrokenIndex,
    FeedChange,
    ServedFeed,
    changed,
    digest_of_bytes,
    parse_index,
    served_feed,
)

INDEX_FILE = ".index.json"
TAXA_STATE_FILE = ".taxa.json"
# A bench has any name, "North wall" and "Süd" too, but never a path's letters.
FEED_NAME = re.compile(rf"(?:all|works|walks)\.ics|(?:{'|'.join(FEED_FOLDERS)})/[^\W_][\w' -]*\.ics")


def read_index(served: Path) -> dict[str, FeedChange]:
    """When each feed last changed; empty where that is lost: the files' own times are then the best known."""
    data = bytes_of(served / INDEX_FILE)
    try:
        return {} if data is None else parse_index(data)
    except BrokenIndex:
        return {}


def read_taxa_state(served: Path) -> Published:
    """The revisions of the feeds of benches, kinds and taxa.

    Where they are lost, new ones start above any seen: these feeds have no other memory, and a phone that is
    sent a lower SEQUENCE keeps the old date.
    """
    data = bytes_of(served / TAXA_STATE_FILE)
    if data is None and not any(served.glob("*/*.ics")):
        return Published()
    try:
        return parse_state_text(data or b"")
    except (Unreadable, TooNew):
        return Published(floor=_highest_sequence(served) + 1)


def _highest_sequence(served: Path) -> int:
    found = [0]
    for path in served.glob("*/*.ics"):
        found += map(int, re.findall(rb"^SEQUENCE:(\d{1,9})\r$", bytes_of(path) or b"", re.MULTILINE))
    return max(found)


def read_served(served: Path) -> dict[str, ServedFeed]:
    """Every whole feed in the folder, ready to send. A damaged file is passed over: better none than that."""
    index = read_index(served)
    feeds = {}
    for name in feed_names(served):
        feed = read_feed(served, name, index.get(name))
        if feed is not None:
            feeds[name] = feed
    return feeds


def feed_names(served: Path) -> list[str]:
    """Names of the feed files that are there, sorted."""
    paths = [
        *(served / name for name in (ALL_FEED, WORKS_FEED, WALKS_FEED)),
        *(path for one in FEED_FOLDERS for path in (served / one).glob("*.ics")),
    ]
    names = (path.relative_to(served).as_posix() for path in paths if path.is_file())
    return sorted(name for name in names if FEED_NAME.fullmatch(name))


def read_feed(served: Path, name: str, before: FeedChange | None) -> ServedFeed | None:
    """One feed with when it changed; None where there is none or it is damaged."""
    data = bytes_of(served / name)
    if data is None or check_bytes(data):
        return None
    # A stop between writing a feed and the index leaves a feed the index does not know: it counts as changed
    # just after. Its own time is only a floor, since copies and restored backups lose it.
    written = datetime.fromtimestamp((served / name).stat().st_mtime, UTC)
    return served_feed(data, changed(digest_of_bytes(data), before, written))
