"""Give a collection its identity, once."""

from contextlib import suppress
from pathlib import Path
from uuid import UUID, uuid4

from care_planner.disk.write_whole import write_new
from care_planner.folder.read_basis import OldBasis
from care_planner.folder.read_identity import IDENTITY_FILE, read_identity
from care_planner.problems import Problem

_COMMENT = "# The identity of this collection's events on every phone. Keep this line's neighbour as it is."


_LOST = "is missing beside a published calendar, whose events would all be doubled on every phone"
_RESTORE = "restore it from a backup; or remove the calendar's folder to begin anew"


def restored_identity(folder: Path, published: OldBasis | None) -> tuple[list[Problem], list[str]]:
    """Give a lost `identity.txt` back from what was published, and say so; a problem where that does not tell
    it. Nothing where there is one, or where nothing was published."""
    found, problems = read_identity(folder)
    if found is not None or problems or published is None:
        return [], []
    if published.identity is None:
        return [Problem(IDENTITY_FILE, 0, _LOST, _RESTORE)], []
    with suppress(FileExistsError):
        write_new(folder / IDENTITY_FILE, f"{_COMMENT}\n{published.identity}\n".encode())
    return [], [f"{IDENTITY_FILE} was missing: restored from the published plan"]


def ensure_identity(folder: Path) -> tuple[UUID | None, list[Problem]]:
    """The collection's identity, made and written if there is none yet.

    Two at once end with one identity: the file appears whole or not at all, and whoever comes second
    reads the first one's. Raises OSError where the disk refuses.
    """
    found, problems = read_identity(folder)
    if found is not None or problems:
        return found, problems
    with suppress(FileExistsError):
        write_new(folder / IDENTITY_FILE, f"{_COMMENT}\n{uuid4()}\n".encode())
    return read_identity(folder)
