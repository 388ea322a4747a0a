"""A collection's folder -> its checked model, or every mistake in it."""

from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from care_planner.collection.cross_checks import check_names, check_seasons
from care_planner.collection.model import Collection
from care_planner.problems import Problem, did_you_mean
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
        known = did_you_mean(zone, available_timezones(), limit=0)
        allowed = (
            known
            if known.startswith("did you mean")
            else "allowed: an IANA time zone such as Europe/Brussels"
        )
        return [Problem(located.file, line, f"site.timezone {zone[:60]!r} is unknown", allowed)]
    return []
