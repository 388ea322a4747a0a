"""Photographs that pages keep beside the journal: where they stand and how they are named. Pure."""

import re
from collections.abc import Iterable

from care_planner.journal.model import Entry

PHOTOS_FOLDER = "photos"
_PHOTO = re.compile(PHOTOS_FOLDER + r"/([a-z0-9-]{1,200}\.jpg)")


def photo_name(photo: str) -> str:
    """The name of a photograph that was sent from a page; empty for any other that a note tells of."""
    found = _PHOTO.fullmatch(photo)
    return found[1] if found else ""


def photographed(entries: Iterable[Entry]) -> list[tuple[Entry, str]]:
    """The notes with such photographs and their names, the newest first."""
    found = [(entry, photo_name(entry.branch.photo)) for entry in entries if entry.branch is not None]
    return sorted(((e, name) for e, name in found if name), key=lambda one: one[0].date, reverse=True)
