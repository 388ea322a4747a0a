"""One feed as it is kept ready to send, and the index that remembers when each last changed."""

import gzip
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import Any

from care_planner.calendar.revisions import STAMP_FORMAT

_VERSION = 1
_DIGEST = re.compile(r"[0-9a-f]{64}")
_A_SECOND = timedelta(seconds=1)


class BrokenIndex(Exception):
    """The index is not what this program wrote."""


@dataclass(frozen=True, slots=True)
class FeedChange:
    """The SHA-256 of a feed's bytes and when they last changed, in whole seconds UTC."""

    digest: str
    at: datetime


@dataclass(frozen=True, slots=True)
class ServedFeed:
    """A feed in memory. It is kept packed: a calendar packs to a tenth, and most clients ask for gzip."""

    packed: bytes
    change: FeedChange

    @property
    def plain(self) -> bytes:
        """Its bytes as they were written."""
        return gzip.decompress(self.packed)

    @property
    def tag(self) -> str:
        """The strong tag of the plain bytes, without its quotes."""
        return self.change.digest[:32]

    @property
    def packed_tag(self) -> str:
        """The tag of the packed bytes: a strong tag names the very bytes sent (RFC 9110, 8.8.3)."""
        return f"{self.change.digest[:32]}-gzip"


def pack(data: bytes) -> bytes:
    """A page as gzip: quickly, since it is made for one request; the same bytes for the same page."""
    return gzip.compress(data, compresslevel=5, mtime=0)


def served_feed(data: bytes, change: FeedChange) -> ServedFeed:
    """Pack a feed; the same bytes for the same feed, whatever the clock says."""
    return ServedFeed(gzip.compress(data, mtime=0), change)


def digest_of_bytes(data: bytes) -> str:
    """The SHA-256 of a feed."""
    return sha256(data).hexdigest()


def changed(digest: str, before: FeedChange | None, now: datetime) -> FeedChange:
    """When bytes of this digest changed: as before if they are the same, else now, and later than before.

    A clock that was set back, or an event that was dropped, never takes Last-Modified back.
    """
    now = now.astimezone(UTC).replace(microsecond=0)
    if before is None:
        return FeedChange(digest, now)
    return before if before.digest == digest else FeedChange(digest, max(now, before.at + _A_SECOND))


def index_text(index: Mapping[str, FeedChange]) -> bytes:
    """The index as JSON, one feed a line, sorted."""
    rows = [
        f"{json.dumps(name, ensure_ascii=False)}: {json.dumps([one.digest, one.at.strftime(STAMP_FORMAT)])}"
        for name, one in sorted(index.items())
    ]
    return (f'{{"version": {_VERSION}, "feeds": {{\n' + ",\n".join(rows) + "\n}}\n").encode()


def parse_index(data: bytes) -> dict[str, FeedChange]:
    """The index a text holds. Raises BrokenIndex for what `index_text` did not write."""
    try:
        state = json.loads(data)
        if state["version"] != _VERSION:
            raise BrokenIndex
        return {str(name): _change(row) for name, row in state["feeds"].items()}
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as fault:
        raise BrokenIndex from fault


def _change(row: Any) -> FeedChange:
    digest, stamp = row
    if not _DIGEST.fullmatch(digest):
        raise ValueError("no digest")
    return FeedChange(digest, datetime.strptime(stamp, STAMP_FORMAT).replace(tzinfo=UTC))
