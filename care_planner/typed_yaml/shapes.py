"""What a model allows at a place, for messages: possible types, their bounds, their keys."""

import types
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import annotated_types
from pydantic import BaseModel, RootModel
from pydantic.fields import FieldInfo

from care_planner.typed_yaml.models import Allowed

MOST_KEYS_SHOWN = 6

Labels = dict[tuple[str | int, ...], str]


@dataclass(frozen=True)
class Shape:
    """One type that may stand at a place, with the notes written beside it in `Annotated`."""

    kind: Any
    notes: tuple[Any, ...] = ()


def shapes_of(annotation: Any, notes: tuple[Any, ...] = ()) -> list[Shape]:
    """All types an annotation stands for; what is noted outside goes before what is noted inside."""
    origin = get_origin(annotation)
    if origin is Annotated:
        bare, *inner = get_args(annotation)
        flat = [part for note in inner for part in (note.metadata if isinstance(note, FieldInfo) else [note])]
        return shapes_of(bare, (*flat, *notes))
    if origin in (Union, types.UnionType):
        arms = [arm for arm in get_args(annotation) if arm is not type(None)]
        return [shape for arm in arms for shape in shapes_of(arm, notes)]
    if isinstance(annotation, type) and issubclass(annotation, RootModel):
        field = annotation.model_fields["root"]
        return shapes_of(field.annotation, (*field.metadata, *notes))
    return [Shape(annotation, notes)]


def shapes_at(model: type[BaseModel], path: tuple[str | int, ...], labels: Labels) -> list[Shape]:
    """What may stand at `path` below `model`; `labels` says which arm was taken at a union."""
    here = _taken(shapes_of(model), labels.get(()))
    for depth, step in enumerate(path, start=1):
        below = [shape for outer in here for shape in _inside(outer, step)]
        here = _taken(below, labels.get(path[:depth]))
    return here


def _taken(shapes: list[Shape], label: str | None) -> list[Shape]:
    """The shapes that pydantic's label of a union's arm names, or all where it names none."""
    if label is None:
        return shapes
    named = [shape for shape in shapes if getattr(shape.kind, "__name__", "") in _words(label)]
    return named or shapes


def _words(label: str) -> list[str]:
    return "".join(c if c.isalnum() or c == "_" else " " for c in label).split()


def _inside(shape: Shape, step: str | int) -> list[Shape]:
    kind = shape.kind
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        for name, field in kind.model_fields.items():
            if step == (field.alias or name):
                return shapes_of(field.annotation, tuple(field.metadata))
        return []
    arguments = get_args(kind)
    if not arguments or get_origin(kind) is Literal:
        return []
    return shapes_of(arguments[1] if isinstance(step, str) and len(arguments) > 1 else arguments[0])


def keys_of(shapes: list[Shape]) -> list[str]:
    """The keys of all models among the shapes, as they are written in the file."""
    return [
        field.alias or name
        for shape in shapes
        if isinstance(shape.kind, type) and issubclass(shape.kind, BaseModel)
        for name, field in shape.kind.model_fields.items()
    ]


def key_shapes(shapes: list[Shape]) -> list[Shape]:
    """What the keys of the mappings among the shapes may be."""
    return [
        key
        for shape in shapes
        if get_origin(shape.kind) is dict
        for key in shapes_of(get_args(shape.kind)[0])
    ]


def options_of(shapes: list[Shape]) -> list[str]:
    """The words of all literal types among the shapes."""
    return [
        str(word) for shape in shapes if get_origin(shape.kind) is Literal for word in get_args(shape.kind)
    ]


def allowed_at(shapes: list[Shape]) -> str:
    """What is allowed, in a few words; empty where nothing more can be said."""
    for shape in shapes:
        for note in reversed(shape.notes):
            if isinstance(note, Allowed):
                return note.text
    parts = [text for text in map(_allowed, shapes) if text]
    return " or ".join(dict.fromkeys(parts))


def _allowed(shape: Shape) -> str:
    kind = shape.kind
    if get_origin(kind) is Literal:
        return ", ".join(map(str, get_args(kind)))
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return f"a mapping with {_main_keys(kind)}"
    if get_origin(kind) is dict:
        return "a mapping (key: value)"
    if get_origin(kind) in (tuple, list, frozenset):
        items = options_of(shapes_of(get_args(kind)[0]))
        return f"a list of {', '.join(items)}" if items else "a list"
    if kind in (int, float):
        return _bounds(shape) or ("a whole number" if kind is int else "a number")
    return {bool: "true, false", date: "a date such as 2027-03-01", str: "text"}.get(kind, "")


def _main_keys(model: type[BaseModel]) -> str:
    """All keys where they are few, else those that must be there."""
    needed = [field.alias or name for name, field in model.model_fields.items() if field.is_required()]
    if len(model.model_fields) > MOST_KEYS_SHOWN and needed:
        return f"at least {', '.join(needed)}"
    return ", ".join(keys_of([Shape(model)]))


def lengths_at(shapes: list[Shape], *, in_text: bool) -> str:
    """How long a text (in characters) or a list or mapping (in items) may be."""
    notes = [note for shape in shapes if (shape.kind is str) == in_text for note in shape.notes]
    least = next((note.min_length for note in notes if isinstance(note, annotated_types.MinLen)), 0)
    most = next((note.max_length for note in notes if isinstance(note, annotated_types.MaxLen)), None)
    if least == most:
        return f"exactly {least}"
    return f"at least {least}" if most is None else f"{least} to {most}"


def _bounds(shape: Shape) -> str:
    low = high = ""
    for note in shape.notes:
        if isinstance(note, annotated_types.Ge):
            low = f"{note.ge:g}" if isinstance(note.ge, int | float) else str(note.ge)
        elif isinstance(note, annotated_types.Gt):
            low = f"more than {note.gt}"
        elif isinstance(note, annotated_types.Le):
            high = f"{note.le:g}" if isinstance(note.le, int | float) else str(note.le)
        elif isinstance(note, annotated_types.Lt):
            high = f"less than {note.lt}"
    if low and high:
        return f"{low}, up to {high}" if low.startswith("more") else f"{low} to {high}"
    if low:
        return low if low.startswith("more") else f"{low} or more"
    return f"up to {high}" if high and not high.startswith("less") else high
