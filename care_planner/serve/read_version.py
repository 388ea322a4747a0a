"""A name for the pages' own files as they are, so that a browser never mixes those of two versions."""

from hashlib import sha256
from importlib.resources import files

ASSETS = ("care.css", "care.js", "icon.svg")
_LENGTH = 12


def read_version() -> str:
    """A short digest of everything that a worker keeps, and of the worker itself."""
    root = files("care_planner.serve")
    parts = [root.joinpath("static", name).read_bytes() for name in ASSETS]
    parts.append(root.joinpath("templates", "sw.js").read_bytes())
    return sha256(b"\0".join(parts)).hexdigest()[:_LENGTH]


def read_style() -> str:
    """The pages' style sheet."""
    return files("care_planner.serve").joinpath("static", "care.css").read_text(encoding="utf-8")
