"""What a folder of feeds holds: the remembered state or, where it is lost, what the feeds themselves say."""

from dataclasses import replace
from pathlib import Path

from care_planner.calendar.faults import CannotWrite
from care_planner.calendar.names import STATE_NAME, TREES_FOLDER
from care_planner.calendar.revisions import Published, Record
from care_planner.calendar.state_text import TooNew, Unreadable, parse_state_text
from care_planner.disk.read_bytes import bytes_if_there
from care_planner.problems import Problem


def read_published(folder: Path) -> tuple[Published, list[Problem]]:
    """The state of what was published in `folder`; a fresh one where nothing was.

    A lost or broken state is never taken for a fresh one while feeds are there, since their revisions
    would start again and phones would keep the old dates. The revisions are then read from the feeds,
    every event in them rises once more, and new events start above the highest revision seen: that is
    told as a problem, which does not stop a plan. Raises CannotWrite where the state cannot be read at
    all, or was written by a later version of this program.
    """
    path = folder / STATE_NAME
    data = bytes_of(path)
    if data is None:
        found = _read_back(folder)
        if not found.older:
            return Published(), []
        return found, [Problem(str(path), 0, "missing", "revisions were read back from the feeds beside it")]
    try:
        return parse_state_text(data), []
    except TooNew:
        raise CannotWrite(
            f"{path} was written by a later version of care_planner; nothing was read"
        ) from None
    except Unreadable:
        what = "not what care_planner wrote"
        return _read_back(folder), [Problem(str(path), 0, what, "revisions were read back from the feeds")]


def bytes_of(path: Path) -> bytes | None:
    """A file's bytes, or None where there is no file; CannotWrite where the machine refuses."""
    try:
        return bytes_if_there(path)
    except NotADirectoryError:
        raise CannotWrite(f"{path.parent} is not a folder") from None
    except OSError as fault:
        raise CannotWrite(f"cannot read {path}: {fault.strerror}") from fault


def _read_back(folder: Path) -> Published:
    older: dict[str, Record] = {}
    for feed in (*sorted((folder / TREES_FOLDER).glob("*.ics")), *sorted(folder.glob("*.ics"))):
        for uid, record in _records_in(bytes_of(feed) or b"").items():
            before = older.get(uid)
            higher = before is None or (record.sequence, record.stamp) > (before.sequence, before.stamp)
            older[uid] = record if before is None or higher else before
    floor = max((record.sequence + 1 for record in older.values()), default=0)
    # Feeds are not claimed as ours: without the list, whose they are cannot be told, so none is removed.
    return replace(Published(), older=older, floor=floor, read_back=True)


def _records_in(feed: bytes) -> dict[str, Record]:
    """Revisions of the events in one feed, by UID; what is not of our own making is passed over."""
    from icalendar import Calendar

    records = {}
    try:
        events = Calendar.from_ical(feed).walk("VEVENT")
    except ValueError:  # no calendar at all: nothing can be learned from it
        return {}
    for event in events:
        try:
            uid, sequence = str(event.decoded("UID")), int(event.decoded("SEQUENCE"))
            stamp = event.decoded("LAST-MODIFIED").strftime("%Y%m%dT%H%M%SZ")
            records[uid] = Record(sequence, stamp, event.decoded("DTSTART").toordinal())
        except (KeyError, ValueError, AttributeError):
            continue
    return records
