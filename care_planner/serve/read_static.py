"""The pages' own style, script and icon, from the package."""

from dataclasses import dataclass
from hashlib import sha256
from importlib.resources import files

_TYPES = {"css": "text/css; charset=utf-8", "js": "text/javascript; charset=utf-8", "svg": "image/svg+xml"}


@dataclass(frozen=True, slots=True)
class StaticFile:
    """A file as it is sent."""

    data: bytes
    kind: str
    etag: str


def read_static() -> dict[str, StaticFile]:
    """Every file by its name."""
    found = {}
    for file in sorted((files("care_planner.serve") / "static").iterdir(), key=lambda one: one.name):
        kind = _TYPES.get(file.name.rpartition(".")[2])
        if kind is not None:
            data = file.read_bytes()
            found[file.name] = StaticFile(data, kind, f'"{sha256(data).hexdigest()[:32]}"')
    return found
