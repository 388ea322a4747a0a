"""A photograph that a page keeps, from the collection's folder."""

from pathlib import Path

from care_planner.disk.read_bytes import bytes_if_there, leads_out
from care_planner.folder.photographs import PHOTOS_FOLDER


def read_photo(folder: Path, name: str) -> bytes | None:
    """The picture; None where it is not there, or is a link that leads out of the folder."""
    path = folder / PHOTOS_FOLDER / name
    return None if leads_out(path, folder) else bytes_if_there(path)
