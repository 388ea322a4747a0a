"""Sightings of others: checked row by row, kept in the folder once they are taken in."""

from datetime import date
from pathlib import Path

from care_planner.learning.fitting.read_records import ordinal_of, read_table
from care_planner.learning.fitting.sightings import COLUMNS, Sighting
from care_planner.problems import Problem

OTHERS_FILE = Path("sightings") / "others.csv"
GROUPS = ("", "early", "mid", "late")


def read_sightings(path: Path) -> tuple[set[Sighting], list[Problem]]:
    """The sightings of one file, or every mistake in it."""
    problems: list[Problem] = []
    table = read_table(path, COLUMNS, problems)
    if table is None:
        return set(), problems
    rows, mistakes = table
    found = set()
    for line, cells in rows:
        sighting = Sighting(*cells)
        fault = _fault(sighting)
        if fault is None:
            found.add(sighting)
        else:
            mistakes.add(line, *fault)
    return found, mistakes.told()


def read_others(folder: Path) -> tuple[set[Sighting], list[Problem]]:
    """What was taken in before; nothing where nothing was."""
    path = folder / OTHERS_FILE
    return read_sightings(path) if path.exists() else (set(), [])


def _fault(sighting: Sighting) -> tuple[str, str] | None:
    """What is wrong with a row, and what is allowed."""
    day = ordinal_of(sighting.date)
    if day is None:
        return f"date is '{sighting.date}', not a date", "2027-03-01"
    if not sighting.year.isdigit() or abs(date.fromordinal(day).year - int(sighting.year)) > 1:
        return f"year is '{sighting.year}'", f"the season of {sighting.date}"
    if sighting.group not in GROUPS:
        return f"group is '{sighting.group}'", "early, mid, late or nothing"
    for name, text, most in (("latitude", sighting.latitude, 90), ("longitude", sighting.longitude, 180)):
        try:
            fits = abs(float(text)) <= most
        except ValueError:
            fits = False
        if not fits:
            return f"{name} is '{text}'", f"degrees from -{most} to {most}"
    if not (sighting.station and sighting.event and sighting.taxon):
        return "station, event or taxon is empty", "all three"
    return None
