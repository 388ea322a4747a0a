"""One mistake in the words of a person who keeps trees: what is wrong; what is allowed."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from pydantic import BaseModel

from care_planner.problems import Problem, did_you_mean
from care_planner.typed_yaml.located import Located, Path
from care_planner.typed_yaml.shapes import (
    Labels,
    Shape,
    allowed_at,
    key_shapes,
    keys_of,
    lengths_at,
    options_of,
    shapes_at,
)

_NOT_A = {
    "float_parsing": "not a number",
    "float_type": "not a number",
    "finite_number": "not a number",
    "int_parsing": "not a whole number",
    "int_type": "not a whole number",
    "int_from_float": "not a whole number",
    "string_type": "not a text",
    "model_type": "not a mapping",
    "dict_type": "not a mapping",
    "tuple_type": "not a list",
    "list_type": "not a list",
    "frozen_set_type": "not a list",
}
_PLAIN = frozenset(
    {
        "greater_than",
        "greater_than_equal",
        "less_than",
        "less_than_equal",
        "literal_error",
        "empty",
        "bool_parsing",
    }
)
_LENGTHS = frozenset({"too_short", "too_long", "string_too_short", "string_too_long"})
_LONGEST_SHOWN = 60


@dataclass(frozen=True)
class Fault:
    """A mistake at a path in the data: pydantic's kind, its details and its own message."""

    path: Path
    kind: str
    details: Mapping[str, Any] = field(default_factory=dict)
    message: str = ""
    in_key: bool = False


def words(fault: Fault, labels: Labels, located: Located, model: type[BaseModel]) -> list[Problem]:
    """The problems to show for one mistake; several only where a validator found several at once."""
    path = fault.path
    if fault.kind == "mistakes":
        return [
            Problem(located.file, located.line((*path, *one.at)), _inside(path) + one.what, one.allowed)
            for one in fault.details["mistakes"]
        ]
    if fault.kind in _LENGTHS and _fits(located.at(path), fault.details):
        return []  # pydantic counts only the items that are right in themselves
    if fault.kind == "value_error":
        what, _, allowed = f"{_inside(path)}{fault.details['error']}".partition("; ")
    elif fault.kind == "extra_forbidden":
        what, allowed = f"unknown key {show(path[-1])}", _known(path, labels, model)
    elif fault.in_key:
        what = f"{show(path[-1])} cannot be a key of {name_of(path[:-1])}"
        allowed = _allowed(key_shapes(shapes_at(model, path[:-1], labels)))
    else:
        what, allowed = _plain(fault, located.at(path), shapes_at(model, path, labels))
    return [Problem(located.file, located.line(path), what, allowed)]


def _inside(path: Path) -> str:
    """Where a whole mapping is at fault: its name, unless it is a list's item (the line says which)."""
    return "" if not path or isinstance(path[-1], int) else f"{name_of(path)}: "


def _known(path: Path, labels: Labels, model: type[BaseModel]) -> str:
    key = str(path[-1])
    keys = keys_of(shapes_at(model, path[:-1], labels))
    if key.partition(":")[0] in keys:
        return "put a space after the colon"
    return did_you_mean(key, keys)


def _plain(fault: Fault, value: Any, shapes: list[Shape]) -> tuple[str, str]:
    name, kind = name_of(fault.path), fault.kind
    allowed = _allowed(shapes)
    if kind == "missing":
        return f"{name} is missing", allowed.replace("allowed:", "needed:", 1)
    is_shown = f"{name} is {show(value)}"
    if kind == "literal_error" and isinstance(value, str):
        return is_shown, did_you_mean(value, options_of(shapes))
    if kind == "unfit":
        what = fault.details["what"]
        return f"{is_shown}, {what}" if what else is_shown, fault.details["allowed"] or _unsaid(allowed, what)
    if kind in _LENGTHS:
        return _length(name, value), f"allowed: {lengths_at(shapes, in_text=isinstance(value, str))}"
    if kind in _PLAIN or value is None:
        return is_shown, allowed
    if kind == "model_type" and isinstance(value, str) and ":" in value:
        return f"{is_shown}, {_NOT_A[kind]}", "put a space after the colon"
    if kind in _NOT_A:
        return f"{is_shown}, {_NOT_A[kind]}", _unsaid(allowed, _NOT_A[kind])
    return f"{is_shown}, which cannot be read ({fault.message})", allowed


def _allowed(shapes: list[Shape]) -> str:
    text = allowed_at(shapes)
    return f"allowed: {text}" if text else ""


def _fits(value: Any, details: Mapping[str, Any]) -> bool:
    length = len(value.strip() if isinstance(value, str) else value)
    most = details.get("max_length")
    return bool(details.get("min_length", 0) <= length and (most is None or length <= most))


def _unsaid(allowed: str, what: str) -> str:
    """Nothing where "not a number; allowed: a number" would say it twice."""
    return "" if allowed == what.replace("not ", "allowed: ", 1) else allowed


def _length(name: str, value: Any) -> str:
    if not value:
        return f"{name} is {'an empty text' if isinstance(value, str) else show(value)}"
    unit = "character" if isinstance(value, str) else "item"
    return f"{name} has {len(value)} {unit}{'' if len(value) == 1 else 's'}"


def name_of(path: Path) -> str:
    """A path as people read it: from the innermost list item on, since the line says which item."""
    if not path:
        return "the file"
    last = max((n for n, step in enumerate(path) if isinstance(step, int)), default=-1)
    if last < len(path) - 1:
        return ".".join(map(str, path[last + 1 :]))
    return f"{name_of(path[:-1])} item {int(path[-1]) + 1}" if len(path) > 1 else f"item {int(path[-1]) + 1}"


def show(value: Any) -> str:
    """A value in a message: text in quotes, cut where long; what is no text by its kind."""
    if value is None:
        return "empty"
    if isinstance(value, str):
        return repr(value if len(value) <= _LONGEST_SHOWN else value[:_LONGEST_SHOWN] + "...")
    what = "mapping" if isinstance(value, dict) else "list"
    return f"a {what}" if value else f"an empty {what}"
