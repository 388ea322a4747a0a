"""The pack on disk, whole or not at all; a pack that a person wrote is never replaced."""

import csv
import io
from datetime import date
from pathlib import Path

from care_planner.disk.write_whole import write_whole
from care_planner.learning.fitting.fit import FittedTaxon
from care_planner.learning.fitting.pack_text import MADE_BY
from care_planner.learning.fitting.read_records import OBSERVATIONS
from care_planner.learning.fitting.records import Records
from care_planner.problems import Problem


def refusals(out: Path) -> list[Problem]:
    """Why a pack may not be written here, found before the work is done."""
    if not out.parent.is_dir():
        return [Problem(str(out), 0, "its folder is not there", "a file in a folder that is")]
    if out.is_dir():
        return [Problem(str(out), 0, "it is a folder", "a file")]
    if out.exists():
        with out.open(encoding="utf-8", errors="replace") as file:
            first = file.readline().rstrip("\n")
        if first != MADE_BY:
            what = "a pack that was not made by fit stands there and would be lost"
            return [Problem(str(out), 1, what, "another file")]
    return []


def write_pack(out: Path, text: str) -> None:
    """Write the text. OSError where the disk refuses; the old file then stands as it was."""
    write_whole(out, text.encode("utf-8"))


def write_parts(folder: Path, taxon: str, fitted: FittedTaxon, records: Records) -> None:
    """For each part its own folder: the pack that has not seen its stations, and what those noted."""
    for k, part in enumerate(fitted.parts):
        own = folder / str(k)
        own.mkdir(parents=True, exist_ok=True)
        write_pack(own / f"{taxon}.yaml", part.text)
        text = io.StringIO(newline="")
        writer = csv.writer(text, lineterminator="\n")
        writer.writerow(OBSERVATIONS)
        for (station, year, event), day in sorted(records.noted.items()):
            if station in part.stations:
                writer.writerow([station, year, event, _iso(day)])
        write_pack(own / "observations.csv", text.getvalue())


def _iso(day: int) -> str:
    return date.fromordinal(day).isoformat()
