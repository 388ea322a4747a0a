"""Files put in their place whole, in one step each, in an order that survives a stop at any moment.

Everything is first written beside its place and brought to the disk, and only then moved there. What is
written beside has a random name and is newly made, never through a link that somebody left in wait.
"""

import os
import secrets
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from care_planner.disk.read_bytes import bytes_if_there

HALF_WRITTEN = ".half-written"
_NEW = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_CLOEXEC", 0)
# Windows opens no folders, so there is nothing to bring to the disk but the files themselves.
_FOLDERS_OPEN = os.name == "posix"


@dataclass(frozen=True, slots=True)
class FileMove:
    """A file to put in its place, or to remove where `data` is None.

    `at` is the time the file is to bear (seconds since 1970; now where not told), `mode` its rights.
    """

    path: Path
    data: bytes | None
    mode: int = 0o644
    at: float | None = None


def write_whole(path: Path, data: bytes, mode: int = 0o644) -> bool:
    """Put bytes in a file's place in one step, unless they are there already; returns whether it wrote.

    Raises OSError with what stood there before still in place.
    """
    return write_stages([[FileMove(path, data, mode)]]) > 0


def write_stages(stages: Iterable[Sequence[FileMove]]) -> int:
    """Carry out moves, each stage on the disk before the next begins; returns how many files changed.

    All files are written beside their places before the first is moved, so a full disk changes nothing. A
    file that holds its bytes already is left alone. The folders must be there. Raises OSError; an interrupt
    or a kill leaves whole files too.
    """
    needed = _needed(stages)
    drafts: dict[int, Path] = {}
    try:
        for move in (move for stage in needed for move in stage):
            if move.data is not None:
                drafts[id(move)] = move.path.with_name(f".{secrets.token_hex(8)}{HALF_WRITTEN}")
                _write_new(drafts[id(move)], move.data, move.mode, move.at)
        for stage in needed:
            for move in stage:
                if move.data is None:
                    move.path.unlink(missing_ok=True)
                else:
                    drafts[id(move)].replace(move.path)
            for folder in sorted({move.path.parent for move in stage}, reverse=True):
                reach_disk(folder)
    finally:
        for draft in drafts.values():
            with suppress(OSError):
                draft.unlink(missing_ok=True)
    return sum(map(len, needed))


def write_new(path: Path, data: bytes, mode: int = 0o644) -> None:
    """Put a whole file where none is. Raises FileExistsError where there is one, or OSError."""
    draft = path.with_name(f".{secrets.token_hex(8)}{HALF_WRITTEN}")
    try:
        _write_new(draft, data, mode, None)
        try:
            path.hardlink_to(draft)  # shows the whole file in one step, and only where none is
        except FileExistsError:
            raise
        except OSError:  # a disk without hard links (FAT, some shares): a short race is the best it gives
            _write_new(path, data, mode, None)
        reach_disk(path.parent)
    finally:
        with suppress(OSError):
            draft.unlink(missing_ok=True)


def reach_disk(folder: Path) -> None:
    """Have the names in a folder themselves on the disk, so that a power cut keeps the order of moves."""
    if not _FOLDERS_OPEN:
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def sweep(folders: Iterable[Path]) -> None:
    """Remove what a killed program left beside its place. Only for whoever holds the lock of the folders."""
    for folder in folders:
        for left in folder.glob(f".*{HALF_WRITTEN}"):
            with suppress(OSError):
                left.unlink()


def _needed(stages: Iterable[Sequence[FileMove]]) -> list[list[FileMove]]:
    """The moves that change something, given that those before them were carried out."""
    will_hold: dict[Path, bytes | None] = {}
    needed: list[list[FileMove]] = []
    for stage in stages:
        changes = []
        for move in stage:
            if move.path not in will_hold:
                # A link is replaced, whatever it leads to.
                is_there = not move.path.is_symlink() and bytes_if_there(move.path) == move.data
            else:
                is_there = will_hold[move.path] == move.data
            if not is_there:
                changes.append(move)
            will_hold[move.path] = move.data
        needed.append(changes)
    return needed


def _write_new(path: Path, data: bytes, mode: int, at: float | None) -> None:
    handle = os.open(path, _NEW, mode)
    with os.fdopen(handle, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(handle)
    if at is not None:
        os.utime(path, (at, at), follow_symlinks=False)
