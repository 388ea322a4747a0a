"""A new collection's folder, ready to plan with."""

from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path

from care_planner.collection.read_collection import COLLECTION_FILE
from care_planner.folder.read_identity import IDENTITY_FILE
from care_planner.folder.starter_text import COLLECTION, JOURNAL, RULES
from care_planner.folder.write_identity import ensure_identity
from care_planner.problems import Problem


def write_starter(folder: Path) -> list[Problem]:
    """Write a commented starter collection into a new or empty folder; problems mean nothing was written.

    Raises OSError where the disk refuses; what was written until then is taken away again.
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
    _write_all(folder, _texts())  # collection.yaml comes last: it makes the folder a collection
    return []


def _texts() -> dict[str, str]:
    schemas = files("care_planner") / "schemas"
    shipped = {
        f"schemas/{schema.name}": schema.read_text(encoding="utf-8")
        for schema in sorted(schemas.iterdir(), key=lambda file: file.name)
        if schema.name.endswith(".schema.json")
    }
    return {**shipped, "journal/notes.yaml": JOURNAL, "rules/own.yaml": RULES}


def _write_all(folder: Path, texts: Mapping[str, str]) -> None:
    made: list[Path] = []
    try:
        _make_folder(folder, made)
        for name, text in texts.items():
            path = folder / name
            _make_folder(path.parent, made)
            made.append(path)
            path.write_text(text, encoding="utf-8")
        made.append(folder / IDENTITY_FILE)
        ensure_identity(folder)
        draft = folder / f".{COLLECTION_FILE}.new"
        made += [draft, folder / COLLECTION_FILE]
        draft.write_text(COLLECTION, encoding="utf-8")
        draft.rename(folder / COLLECTION_FILE)
    except BaseException:  # Ctrl-C too: leave no half collection behind
        for path in reversed(made):
            path.rmdir() if path.is_dir() else path.unlink(missing_ok=True)
        raise


def _make_folder(folder: Path, made: list[Path]) -> None:
    if not folder.exists():
        _make_folder(folder.parent, made)
        folder.mkdir()
        made.append(folder)
