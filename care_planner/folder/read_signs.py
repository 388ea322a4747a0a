"""Whether what a plan is made of has changed on disk: a look at names, sizes and times, not at contents."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from care_planner.calendar.names import PLAN_NAME, STATE_NAME
from care_planner.collection.read_collection import COLLECTION_FILE
from care_planner.folder.fetch_weather import WEATHER_STORE
from care_planner.journal.read_journal import JOURNAL_FOLDER

Signs = tuple[tuple[str, int, int, int], ...]


@dataclass(frozen=True, slots=True)
class Watched:
    """Signs of each part of a collection's folder; a part whose signs are equal has not changed."""

    collection: Signs
    journal: Signs
    rules: Signs
    weather: Signs


def read_watched(folder: Path, weather: Sequence[str]) -> Watched:
    """Look at the folder. `weather` are the files in it that the record is read from."""
    return Watched(
        collection=_signs([folder / COLLECTION_FILE]),
        journal=_signs(_files(folder / JOURNAL_FOLDER)),
        rules=_signs(_files(folder / "rules")),
        weather=_signs(folder / name for name in weather),
    )


def read_store_signs(folder: Path) -> Signs:
    """Signs of fetched weather. It is not watched: planning itself fetches, and would set itself off."""
    return _signs(_files(folder / WEATHER_STORE))


def read_signs_of_all(folder: Path, out: Path) -> Signs:
    """Signs of everything a plan in `out` is made of: equal ones mean that nothing came in between."""
    beside = [path for path in _files(folder) if path.is_file()]
    parts = [_files(folder / part) for part in (JOURNAL_FOLDER, "rules", WEATHER_STORE)]
    written = [out / PLAN_NAME, out / STATE_NAME]
    return _signs([*beside, *(path for part in parts for path in part), *written])


def journal_octets(folder: Path) -> int:
    """How large the journal is."""
    return sum(size for _, _, size, _ in _signs(_files(folder / JOURNAL_FOLDER)))


def _files(folder: Path) -> list[Path]:
    try:
        return sorted(path for path in folder.iterdir() if not path.name.startswith("."))
    except OSError:
        return []


def _signs(paths: Iterable[Path]) -> Signs:
    signs = []
    for path in paths:
        try:
            found = path.stat()
        except OSError:
            continue
        signs.append((path.name, found.st_mtime_ns, found.st_size, found.st_ino))
    return tuple(signs)
