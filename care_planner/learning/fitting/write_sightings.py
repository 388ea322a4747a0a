"""Others' sightings in the collection's folder."""

from collections.abc import Iterable
from pathlib import Path

from care_planner.learning.fitting.read_sightings import OTHERS_FILE
from care_planner.learning.fitting.sightings import Sighting, sightings_text
from care_planner.learning.fitting.write_pack import write_pack


def write_others(folder: Path, sightings: Iterable[Sighting]) -> None:
    """Write all of them anew, whole or not at all."""
    path = folder / OTHERS_FILE
    path.parent.mkdir(exist_ok=True)
    write_pack(path, sightings_text(sightings))
