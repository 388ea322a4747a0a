"""A YAML file from disk, and the door to what checks it: text -> data with lines -> model."""

from pathlib import Path

from care_planner.disk.read_bytes import read_bytes
from care_planner.problems import Problem
from care_planner.typed_yaml.located import Located, parse_yaml
from care_planner.typed_yaml.models import Strict
from care_planner.typed_yaml.validate import validate

__all__ = [
    "LARGEST_BYTES",
    "Located",
    "Strict",
    "decoded",
    "parse_yaml",
    "read_raw",
    "read_text",
    "read_yaml",
    "validate",
]

LARGEST_BYTES = 16_000_000  # some 80,000 trees; more is a wrong file


def read_yaml(
    path: Path, shown_as: str, *, may_be_empty: bool = False
) -> tuple[Located | None, list[Problem]]:
    """Read one YAML file; `shown_as` is its name in messages. See `parse_yaml` for what is a mistake."""
    text, problems = read_text(path, shown_as)
    if text is None:
        return None, problems
    return parse_yaml(text, shown_as, may_be_empty=may_be_empty)


def read_text(path: Path, shown_as: str) -> tuple[str | None, list[Problem]]:
    """Read a UTF-8 text file of at most `LARGEST_BYTES`; a byte order mark at its start is dropped."""
    raw, problems = read_raw(path, shown_as)
    return (None, problems) if raw is None else decoded(raw, shown_as)


def read_raw(path: Path, shown_as: str) -> tuple[bytes | None, list[Problem]]:
    """The bytes of a file of at most `LARGEST_BYTES`, or what keeps them from being read."""
    try:
        if not path.exists():
            return None, [Problem(shown_as, 0, "no such file")]
        if not path.is_file():
            return None, [Problem(shown_as, 0, "not a file")]
        raw = read_bytes(path, LARGEST_BYTES)
    except OSError as error:
        return None, [Problem(shown_as, 0, f"cannot be read ({error.strerror})")]
    if len(raw) > LARGEST_BYTES:
        return None, [Problem(shown_as, 0, "too large", f"allowed: {LARGEST_BYTES // 1_000_000} MB at most")]
    return raw, []


def decoded(raw: bytes, shown_as: str) -> tuple[str | None, list[Problem]]:
    """The text of UTF-8 bytes without a byte order mark at their start, or what is wrong with them."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return None, [Problem(shown_as, 1, "the text is UTF-16", "save it as UTF-8")]
    try:
        return raw.decode("utf-8-sig"), []
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        return None, [Problem(shown_as, line, "the text is not UTF-8", "save it as UTF-8")]
