"""One line more in the journal: whole and on the disk, or not there at all.

Lines are only ever added, under a lock, to files that hold nothing but lines written here; a file that
a person keeps in another form stays as it is, and a file beside it grows instead.
"""

import errno
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import date
from itertools import count
from pathlib import Path

from care_planner.disk.read_bytes import bytes_if_there, leads_out
from care_planner.disk.write_lock import WAIT_S, held
from care_planner.disk.write_whole import reach_disk
from care_planner.journal.lines import ID_LENGTH, ID_LETTERS, ID_START, cut_off, may_grow
from care_planner.journal.read_journal import JOURNAL_FOLDER, LOCK_NAME

# Never through a link that somebody left in wait.
_GROW = os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_CLOEXEC", 0)
# A full file is followed by a new one, long before readers refuse it (`read_yaml.LARGEST_BYTES`) and while
# looking whether a line fits behind the others still costs little. Starting value: some 2,500 notes.
FILE_OCTETS = 256_000


def new_id() -> str:
    """A random id for an entry, short enough to type."""
    return ID_START + "".join(secrets.choice(ID_LETTERS) for _ in range(ID_LENGTH))


def append_note(
    folder: Path, line: str, season: int, today: date, wait_s: float = WAIT_S
) -> tuple[str, list[str]]:
    """Add a line to the journal of the collection in `folder`, in a file named for the season.

    Returns the file's name and what a person should be told. Once it returns, the line is on the disk.
    Waits up to `wait_s` for others to be done. Raises OSError where the disk refuses (Busy where it waited in
    vain), with no part of the line left behind.
    """
    journal = folder / JOURNAL_FOLDER
    with _told(journal), _held(journal, wait_s):
        messages = _set_aside(journal, today)
        path = next(path for path in _candidates(journal, season) if _may_grow(path, journal, len(line)))
        _append(path, line.encode())
    return f"{JOURNAL_FOLDER}/{path.name}", messages


def set_torn_aside(folder: Path, today: date) -> list[str]:
    """Move lines that were cut off while they were written to `journal/torn-<today>.txt`; say so.

    Writes nothing where there are none. Raises OSError where the disk refuses.
    """
    journal = folder / JOURNAL_FOLDER
    if not any(cut_off(_bytes_of(path)) for path in _files(journal)):
        return []
    with _held(journal, WAIT_S):
        return _set_aside(journal, today)


def _candidates(journal: Path, season: int) -> Iterator[Path]:
    yield journal / f"notes-{season}.yaml"
    yield from (journal / f"notes-{season}-{number}.yaml" for number in count(2))


def _may_grow(path: Path, journal: Path, octets: int) -> bool:
    if leads_out(path, journal):
        return False
    there = path.stat().st_size if path.exists() else 0
    return (not there or there + octets <= FILE_OCTETS) and may_grow(_bytes_of(path))


def _files(journal: Path) -> list[Path]:
    return sorted(
        path
        for path in journal.glob("*.yaml")
        if path.is_file() and not path.name.startswith(".") and not leads_out(path, journal)
    )


def _bytes_of(path: Path) -> bytes:
    return bytes_if_there(path) or b""


@contextmanager
def _held(journal: Path, wait_s: float) -> Iterator[None]:
    """Make the folder where it is missing and keep other notes out of it; a process that dies lets go."""
    if not journal.is_dir():
        journal.mkdir(exist_ok=True)
        reach_disk(journal.parent)
    with held(journal / LOCK_NAME, wait_s):
        yield


def _set_aside(journal: Path, today: date) -> list[str]:
    messages = []
    for path in _files(journal):
        raw = _bytes_of(path)
        torn = cut_off(raw)
        if not torn:
            continue
        aside = journal / f"torn-{today}.txt"
        # Kept before it is taken away: stopped in between, it stands in both places.
        with os.fdopen(os.open(aside, _GROW, 0o644), "ab") as file:
            file.write(torn + b"\n")
            file.flush()
            os.fsync(file.fileno())
        reach_disk(journal)
        with path.open("rb+") as file:
            file.truncate(len(raw) - len(torn))
            os.fsync(file.fileno())
        messages.append(
            f"{JOURNAL_FOLDER}/{path.name}: its last line was cut off while it was written and never "
            f"counted; it is kept in {JOURNAL_FOLDER}/{aside.name}"
        )
    return messages


def _append(path: Path, line: bytes) -> None:
    is_new = not path.exists()
    handle = os.open(path, _GROW, 0o644)
    try:
        size = os.fstat(handle).st_size
        try:
            if os.write(handle, line) != len(line):
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            os.fsync(handle)
            if is_new:
                reach_disk(path.parent)
            # By its name: an editor may have put another file in its place meanwhile.
            if _bytes_of(path)[size:] != line:
                raise OSError(errno.EAGAIN, "another program changed the file at the same moment, try again")
        except OSError:
            _take_out(handle, size, line)
            raise
    finally:
        os.close(handle)


def _take_out(handle: int, size: int, line: bytes) -> None:
    """Remove what was written of the line, if nothing stands behind it; else it is set aside later."""
    with suppress(OSError):
        end = os.fstat(handle).st_size
        os.lseek(handle, size, os.SEEK_SET)
        if line.startswith(os.read(handle, end - size)):
            os.ftruncate(handle, size)


@contextmanager
def _told(journal: Path) -> Iterator[None]:
    try:
        yield
    except OSError as fault:
        where = fault.filename or str(journal)
        raise OSError(fault.errno, f"{fault.strerror or fault}; nothing was noted", where) from fault
