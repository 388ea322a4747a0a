"""Feeds, plan and published state to disk, so that at any moment a whole calendar is there.

Everything is first written beside its place and only then moved there, each file in one step. The order
of the moves is: published state, feeds, feeds of trees that are gone, plan.json. The state comes first
because it may only ever be ahead of the feeds: stopped in between, the next plan finds revisions as high
as or higher than any phone has seen, and finishes the work. The other way round it would find lower ones,
and phones would keep old dates.
"""

import re
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from care_planner.calendar.faults import CannotWrite
from care_planner.calendar.names import (
    BROKEN_STATE_NAME,
    LOCK_NAME,
    PLAN_NAME,
    STATE_NAME,
    TREES_FOLDER,
)
from care_planner.calendar.read_published import bytes_of
from care_planner.calendar.revisions import Published
from care_planner.calendar.state_text import write_state_text
from care_planner.disk.write_lock import held
from care_planner.disk.write_whole import FileMove, sweep, write_stages

_FEED_NAME = re.compile(rf"(?:{TREES_FOLDER}/)?[^/\\\x00-\x1f.][^/\\\x00-\x1f]*\.ics")


@dataclass(frozen=True, slots=True)
class HeldFolder:
    """A calendar folder that this process alone may write; only `held_folder` makes one."""

    path: Path


@contextmanager
def held_folder(folder: Path) -> Iterator[HeldFolder]:
    """Make the folder where it is missing, and keep other plans out of it until the block is left.

    Hold it from reading the published state to writing it, or two plans would each raise the same
    revisions. Waits for its turn, but not for ever; a process that dies lets go. Raises CannotWrite.
    """
    with _told("cannot write in", folder):
        (folder / TREES_FOLDER).mkdir(parents=True, exist_ok=True)
    with ExitStack() as lock:
        with _told("cannot write in", folder):
            lock.enter_context(held(folder / LOCK_NAME))
        yield HeldFolder(folder)


def write_calendar(
    held: HeldFolder, files: Mapping[str, bytes], plan_json: bytes, published: Published
) -> None:
    """Write the feeds `files` ("all.ics", "trees/<tree>.ics"), the plan and the state of a folder.

    A file that already holds its bytes is left alone. Feeds that the state lists and `files` does not are
    removed; no other file ever is. Raises CannotWrite, with the last good calendar still in place and
    nothing half written; an interrupt leaves whole files too.
    """
    folder = held.path
    for name in files:
        if not _FEED_NAME.fullmatch(name):
            raise CannotWrite(f"{name!r} is no name for a feed; nothing was written")
    with _told("cannot write the calendar in", folder):
        try:
            write_stages(_stages(folder, files, plan_json, published))
        finally:
            sweep((folder, folder / TREES_FOLDER))


def _stages(
    folder: Path, files: Mapping[str, bytes], plan_json: bytes, published: Published
) -> list[list[FileMove]]:
    """What has to change, in stages; each stage is on the disk before the next begins."""
    gone = sorted(set(published.files) - set(files))
    state = folder / STATE_NAME
    before = bytes_of(state)
    ahead = write_state_text(replace(published, files=tuple({*files, *published.files})))
    settled = write_state_text(replace(published, files=tuple(files))) if gone else ahead
    return [
        [FileMove(folder / BROKEN_STATE_NAME, before)] if published.read_back and before else [],
        [FileMove(state, ahead)],
        [FileMove(folder / name, data) for name, data in sorted(files.items())],
        [FileMove(folder / name, None) for name in gone if _FEED_NAME.fullmatch(name)],
        # Only now: were a name struck off before its feed is removed, the feed could stay for ever.
        [FileMove(state, settled)],
        [FileMove(folder / PLAN_NAME, plan_json)],
    ]


@contextmanager
def _told(what: str, folder: Path) -> Iterator[None]:
    try:
        yield
    except OSError as fault:
        reason = fault.strerror or str(fault)
        raise CannotWrite(f"{what} {folder}: {reason}; the last good calendar is still there") from fault
