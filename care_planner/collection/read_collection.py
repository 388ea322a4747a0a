"""A collection's folder -> its checked model, or every mistake in it."""

from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from care_planner.collection.cross_checks import check_names, check_seasons
from care_planner.collection.gazetteer.read_places import read_zones_of
from care_planner.collection.model import Collection
from care_planner.problems import Problem, nearest
from care_planner.typed_yaml.read_yaml import Located, read_yaml, validate

COLLECTION_FILE = "collection.yaml"


def read_collection(folder: Path) -> tuple[Collection | None, Located | None, list[Problem]]:
    """Read `folder/collection.yaml`. The model is there only if there is no problem at all."""
    fault = _folder_fault(folder)
    if fault:
        return None, None, [Problem(str(folder), 0, *fault)]
    located, problems = read_yaml(folder / COLLECTION_FILE, COLLECTION_FILE)
    if located is None:
        return None, None, problems
    collection, mistakes = validate(located, Collection)
    problems = [*problems, *mistakes, *check_names(located), *_check_timezone(located)]
    if collection is not None:
        problems += check_seasons(collection, located)
    return (None if problems else collection), located, sorted(set(problems))


def _folder_fault(folder: Path) -> tuple[str, str] | None:
    try:
        if not folder.exists():
            return "no such folder", "make one with: care-planner start FOLDER"
        if not folder.is_dir():
            return "not a folder", f"a collection is a folder that holds {COLLECTION_FILE}"
        if not (folder / COLLECTION_FILE).exists():
            return f"no {COLLECTION_FILE} in this folder", "make one with: care-planner start FOLDER"
    except OSError as error:
        return f"cannot be read ({error.strerror})", ""
    return None


def _check_timezone(located: Located) -> list[Problem]:
    """Here and not in the model, since the zones are files."""
    zone = located.at(("site", "timezone"))
    if not isinstance(zone, str):
        return []
    try:
        ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        line = located.line(("site", "timezone"))
        return [Problem(located.file, line, f"site.timezone {zone[:60]!r} is unknown", _zone_hint(zone))]
    return []


def _zone_hint(zone: str) -> str:
    """The zone of the town that was named, else a zone spelt like it: Europe/Ghent -> Europe/Brussels."""
    area, _, town = zone.rpartition("/")
    by_place = [known for known in read_zones_of(town) if not area or known.startswith(f"{area}/")]
    near = by_place[0] if by_place else nearest(zone, available_timezones())
    return f"did you mean {near}?" if near else "allowed: an IANA time zone such as Europe/Brussels"
