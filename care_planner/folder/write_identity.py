"""Give a collection its identity, once."""

from contextlib import suppress
from pathlib import Path
from uuid import UUID, uuid4

from care_planner.disk.write_whole import write_new
from care_planner.folder.read_identity import IDENTITY_FILE, read_identity
from care_planner.problems import Problem

_COMMENT = "# The identity of this collection's events on every phone. Keep this line's neighbour as it is."


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
