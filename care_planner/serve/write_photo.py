"""Photographs beside the journal: written whole, under a name of our own."""

import errno
from pathlib import Path

from care_planner.disk.read_bytes import leads_out
from care_planner.disk.write_whole import write_whole
from care_planner.folder.photographs import PHOTOS_FOLDER

PHOTOS_MOST = 10_000


def has_room(folder: Path) -> bool:
    """Whether the folder of photographs takes another one."""
    place = folder / PHOTOS_FOLDER
    return not place.is_dir() or sum(1 for _ in place.iterdir()) < PHOTOS_MOST


def write_photo(folder: Path, name: str, data: bytes) -> None:
    """Keep a photograph. Raises OSError, also where the folder of photographs is a link that leads out."""
    place = folder / PHOTOS_FOLDER
    if leads_out(place, folder):
        raise OSError(errno.ELOOP, "the folder of photographs leads out of the collection", str(place))
    place.mkdir(exist_ok=True)
    write_whole(place / name, data)


def drop_photo(folder: Path, name: str) -> None:
    """Remove a photograph of which no note tells."""
    (folder / PHOTOS_FOLDER / name).unlink(missing_ok=True)
