"""Give a collection its identity, once."""

import os
from contextlib import suppress
from pathlib import Path
from uuid import UUID, uuid4

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
    draft = folder / f".{IDENTITY_FILE}.{uuid4().hex}"
    try:
        with draft.open("x", encoding="utf-8") as file:
            file.write(f"{_COMMENT}\n{uuid4()}\n")
            file.flush()
            os.fsync(file.fileno())
        with suppress(FileExistsError):
            _publish(draft, folder / IDENTITY_FILE)
    finally:
        draft.unlink(missing_ok=True)
    return read_identity(folder)


def _publish(draft: Path, target: Path) -> None:
    """Show `draft` as `target`, unless that is there. A hard link does both in one step."""
    try:
        target.hardlink_to(draft)
    except FileExistsError:
        raise
    except OSError:  # a disk without hard links (FAT, some shares): a short race is the best it gives
        with target.open("x", encoding="utf-8") as file:
            file.write(draft.read_text(encoding="utf-8"))
