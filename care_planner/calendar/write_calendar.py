"""Feeds, plan and published state to disk, so that at any moment a whole calendar is there.

Everything is first written beside its place and only then moved there, each file in one step. The order
of the moves is: published state, feeds, feeds of trees that are gone, plan.json. The state comes first
because it may only ever be ahead of the feeds: stopped in between, the next plan finds revisions as high
as or higher than any phone has seen, and finishes the work. The other way round it would find lower ones,
and phones would keep old dates.
"""

import os
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
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

try:
    import fcntl
except ImportError:  # a system without it plans without a lock
    fcntl = None  # type: ignore[assignment]

_FEED_NAME = re.compile(rf"(?:{TREES_FOLDER}/)?[^/\\\x00-\x1f.][^/\\\x00-\x1f]*\.ics")
_HALF_WRITTEN = ".half-written"


@dataclass(frozen=True, slots=True)
class HeldFolder:
    """A calendar folder that this process alone may write; only `held_folder` makes one."""

    path: Path


@contextmanager
def held_folder(folder: Path) -> Iterator[HeldFolder]:
    """Make the folder where it is missing, and keep other plans out of it until the block is left.

    Hold it from reading the published state to writing it, or two plans would each raise the same
    revisions. Waits for its turn; a process that dies lets go. Raises CannotWrite.
    """
    with _told("cannot write in", folder):
        (folder / TREES_FOLDER).mkdir(parents=True, exist_ok=True)
        handle = os.open(folder / LOCK_NAME, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
    try:
        if fcntl is not None:
            with _told("cannot lock", folder):
                fcntl.flock(handle, fcntl.LOCK_EX)
        yield HeldFolder(folder)
    finally:
        os.close(handle)


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
        moves = _moves(folder, files, plan_json, published)
        try:
            for stage in moves:
                for move in stage:
                    _write_beside(move)
            for stage in moves:
                for move in stage:
                    _carry_out(move)
                if stage:
                    _reach_disk(folder)
        finally:
            _sweep(folder)


@dataclass(frozen=True, slots=True)
class _Move:
    """A file to put in its place, or to remove where `data` is None."""

    path: Path
    data: bytes | None
    beside: Path


def _moves(
    folder: Path, files: Mapping[str, bytes], plan_json: bytes, published: Published
) -> list[list[_Move]]:
    """What has to change, in stages; each stage is on the disk before the next begins."""
    gone = sorted(set(published.files) - set(files))
    state = folder / STATE_NAME
    before = bytes_of(state)
    ahead = write_state_text(replace(published, files=tuple({*files, *published.files})))
    settled = write_state_text(replace(published, files=tuple(files)))
    keep = [_move(folder / BROKEN_STATE_NAME, before)] if published.read_back and before else []
    feeds = [_move(folder / name, data) for name, data in sorted(files.items())]
    return [
        keep,
        [_move(state, ahead, ".ahead")] if before != ahead else [],
        [move for move in feeds if bytes_of(move.path) != move.data],
        [_move(folder / name, None) for name in gone if _FEED_NAME.fullmatch(name)],
        # Only now: were a name struck off before its feed is removed, the feed could stay for ever.
        [_move(state, settled)] if settled != ahead else [],
        [_move(folder / PLAN_NAME, plan_json)] if bytes_of(folder / PLAN_NAME) != plan_json else [],
    ]


def _move(path: Path, data: bytes | None, mark: str = "") -> _Move:
    return _Move(path, data, path.with_name(f".{path.name}{mark}{_HALF_WRITTEN}"))


def _write_beside(move: _Move) -> None:
    if move.data is None:
        return
    with move.beside.open("wb") as file:
        file.write(move.data)
        file.flush()
        os.fsync(file.fileno())


def _carry_out(move: _Move) -> None:
    if move.data is None:
        move.path.unlink(missing_ok=True)
    else:
        move.beside.replace(move.path)


def _reach_disk(folder: Path) -> None:
    """Have the moves themselves on the disk, so that a power cut keeps their order."""
    if fcntl is None:  # folders cannot be opened there
        return
    for path in (folder / TREES_FOLDER, folder):
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _sweep(folder: Path) -> None:
    """Remove what was written beside its place and never moved there, by this try or one that was killed."""
    for path in (folder, folder / TREES_FOLDER):
        for left in path.glob(f".*{_HALF_WRITTEN}"):
            with suppress(OSError):
                left.unlink()


@contextmanager
def _told(what: str, folder: Path) -> Iterator[None]:
    try:
        yield
    except OSError as fault:
        reason = fault.strerror or str(fault)
        raise CannotWrite(f"{what} {folder}: {reason}; the last good calendar is still there") from fault
