"""Photographs beside the journal: written whole, under a name of our own."""

from pathlib import Path

from care_planner.disk.write_whole import write_whole
from care_planner.folder.photographs import PHOTOS_FOLDER

PHOTOS_MOST = 10_000


def has_room(folder: Path) -> bool:
    """Whether the folder of photographs takes another one."""
    place = folder / PHOTOS_FOLDER
    return not place.is_dir() or sum(1 for _ in place.iterdir()) < PHOTOS_MOST


def write_photo(folder: Path, name: str, data: bytes) -> None:
    """Keep a photograph. Raises OSError."""
    place = folder / PHOTOS_FOLDER
    place.mkdir(exist_ok=True)
    write_whole(place / name, data)


def drop_photo(folder: Path, name: str) -> None:
    """Remove a photograph of which no note tells."""
    (folder / PHOTOS_FOLDER / name).unlink(missing_ok=True)
