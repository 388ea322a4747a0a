"""A new collection's folder, ready to plan with."""

from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path

from care_planner.collection.read_collection import COLLECTION_FILE
from care_planner.disk.write_whole import write_whole
from care_planner.folder.read_identity import IDENTITY_FILE
from care_planner.folder.starter_text import COLLECTION, JOURNAL, RULES
from care_planner.folder.write_identity import ensure_identity
from care_planner.problems import Problem


def write_starter(
    folder: Path, collection: str = COLLECTION, journal: str = JOURNAL, weather: Path | None = None
) -> list[Problem]:
    """Write a starter collection into a new or empty folder; problems mean nothing was written.

    `weather` is a file to be copied into the folder under its own name. Raises OSError where the disk
    refuses; what was written until then is taken away again.
    """
    if folder.exists() and not folder.is_dir():
        return [Problem(str(folder), 0, "not a folder", "name a new or empty folder")]
    if (folder / COLLECTION_FILE).exists():
        return [
            Problem(
                str(folder), 0, "there is a collection in this folder already", "name a new or empty folder"
            )
        ]
    if folder.exists() and any(not path.name.startswith(".") for path in folder.iterdir()):
        return [Problem(str(folder), 0, "the folder is not empty", "name a new or empty folder")]
    files_of = {**_texts(), "journal/notes.yaml": journal.encode()}
    if weather is not None:
        files_of[weather.name] = weather.read_bytes()
    _write_all(folder, files_of, collection)
    return []


def _texts() -> dict[str, bytes]:
    schemas = files("care_planner") / "schemas"
    shipped = {
        f"schemas/{schema.name}": schema.read_bytes()
        for schema in sorted(schemas.iterdir(), key=lambda file: file.name)
        if schema.name.endswith(".schema.json")
    }
    return {**shipped, "rules/own.yaml": RULES.encode()}


def _write_all(folder: Path, contents: Mapping[str, bytes], collection: str) -> None:
    """collection.yaml comes last: it makes the folder a collection."""
    made: list[Path] = []
    try:
        _make_folder(folder, made)
        for name, content in contents.items():
            path = folder / name
            _make_folder(path.parent, made)
            made.append(path)
            write_whole(path, content)
        made.append(folder / IDENTITY_FILE)
        ensure_identity(folder)
        made.append(folder / COLLECTION_FILE)
        write_whole(folder / COLLECTION_FILE, collection.encode())
    except BaseException:  # Ctrl-C too: leave no half collection behind
        for path in reversed(made):
            path.rmdir() if path.is_dir() else path.unlink(missing_ok=True)
        raise


def _make_folder(folder: Path, made: list[Path]) -> None:
    if not folder.exists():
        _make_folder(folder.parent, made)
        folder.mkdir()
        made.append(folder)
