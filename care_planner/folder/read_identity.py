"""The collection's identity: a random number of its own, so that two collections' events never mix."""

from pathlib import Path
from uuid import UUID

from care_planner.problems import Problem
from care_planner.typed_yaml.read_yaml import read_text

IDENTITY_FILE = "identity.txt"
_HINT = "restore the file; without it every event of the calendar gets a new identity"


def read_identity(folder: Path) -> tuple[UUID | None, list[Problem]]:
    """The identity in `folder/identity.txt`; None without a problem where there is no such file yet."""
    path = folder / IDENTITY_FILE
    if not path.exists() and not path.is_symlink():
        return None, []
    if not path.exists():
        return None, [Problem(IDENTITY_FILE, 0, "a link that leads nowhere", _HINT)]
    text, problems = read_text(path, IDENTITY_FILE)
    if text is None:
        return None, problems
    told = [(n, line.strip()) for n, line in enumerate(text.splitlines(), start=1)]
    told = [(n, line) for n, line in told if line and not line.startswith("#")]
    if len(told) != 1:
        return None, [Problem(IDENTITY_FILE, 0, f"{len(told)} identities where one belongs", _HINT)]
    line, word = told[0]
    try:
        return UUID(word), []
    except ValueError:
        return None, [Problem(IDENTITY_FILE, line, f"{word[:60]!r} is no identity (a UUID)", _HINT)]
