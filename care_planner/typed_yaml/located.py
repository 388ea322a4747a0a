"""YAML text -> plain data that knows its lines. Pure: no disk.

Every scalar stays text: what `no`, `001`, `40%` or `2027-5-3` means is for the model to say, not for
YAML's guesses. Anchors, aliases, merge keys and tags are refused, so that a small file cannot unfold
into a large one and so that what a person reads in the file is all there is.
"""

from dataclasses import dataclass, field
from typing import Any

import yaml

from care_planner.problems import Problem
from care_planner.typed_yaml.notation import DEEPEST, MOST_PROBLEMS, TOO_DEEP, notation_fault, unprintable

Step = str | int
Path = tuple[Step, ...]


_NULLS = frozenset({"", "~", "null", "Null", "NULL"})

_Parser = yaml.CSafeLoader


@dataclass(slots=True)
class Place:
    """The line of a mapping or list, and the places (or, for text, bare lines) of what it holds."""

    line: int
    inside: "dict[Step, Place | int]" = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Located:
    """What one file says: nested dict, list, str and None, with the line of each part."""

    file: str
    data: Any
    place: Place | int

    def line(self, path: Path = ()) -> int:
        """Line (from 1) of the key or item at `path`, or of its nearest ancestor that is there."""
        here: Place | int | None = self.place
        line = 1
        for step in (None, *path):
            if step is not None:
                here = here.inside.get(step) if isinstance(here, Place) else None
            if here is None:
                break
            line = here if isinstance(here, int) else here.line
        return line

    def at(self, path: Path) -> Any:
        """The data at `path`, or None where nothing is."""
        here = self.data
        for step in path:
            if isinstance(here, dict) and isinstance(step, str):
                here = here.get(step)
            elif isinstance(here, list) and isinstance(step, int) and step < len(here):
                here = here[step]
            else:
                return None
        return here


def parse_yaml(
    text: str, shown_as: str, *, may_be_empty: bool = False
) -> tuple[Located | None, list[Problem]]:
    """Read one YAML document. Never raises on any text.

    Two equal keys are a mistake that still leaves data (the first is kept), so that the rest can be
    checked too; any other fault in the notation leaves None. A file without content is a mistake
    unless `may_be_empty`; then its data is None.
    """
    faults = unprintable(text, shown_as)
    if faults:
        return None, faults
    builder = _Builder(shown_as)
    try:
        for event in yaml.parse(text, Loader=_Parser):
            builder.take(event)
            if builder.given_up:
                break
    except yaml.MarkedYAMLError as error:
        builder.fault(*notation_fault(error, text))
    except yaml.YAMLError as error:
        builder.fault(1, f"broken YAML: {str(error).splitlines()[0]}")
    problems = builder.problems
    if builder.broken:
        return None, problems
    if builder.data is None and not may_be_empty:
        return None, [Problem(shown_as, 1, "the file holds nothing")]
    return Located(shown_as, builder.data, builder.place), problems


class _Frame:
    """A mapping or list being read."""

    __slots__ = ("data", "key", "key_line", "place")

    def __init__(self, data: "dict[str, Any] | list[Any]", place: Place) -> None:
        self.data = data
        self.place = place
        self.key: str | None = None  # mapping: the key whose value comes next
        self.key_line = 0  # mapping: 0 while a key comes next


class _Builder:
    """Takes the parser's events in order, without recursion, so that depth costs no stack."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.data: Any = None
        self.place: Place | int = 1
        self.problems: list[Problem] = []
        self.broken = False
        self.given_up = False
        self._frames: list[_Frame] = []
        self._documents = 0

    def fault(self, line: int, what: str, allowed: str = "") -> None:
        self.problems.append(Problem(self.file, line, what, allowed))
        self.broken = True
        self.given_up = self.given_up or len(self.problems) >= MOST_PROBLEMS

    def take(self, event: yaml.Event) -> None:
        if isinstance(event, yaml.ScalarEvent):
            self._check_marks(event)
            is_null = event.implicit[0] and event.value in _NULLS
            self._put(None if is_null else event.value, _line(event))
        elif isinstance(event, yaml.MappingStartEvent):
            self._check_marks(event)
            self._open({}, _line(event))
        elif isinstance(event, yaml.SequenceStartEvent):
            self._check_marks(event)
            self._open([], _line(event))
        elif isinstance(event, yaml.CollectionEndEvent):
            self._frames.pop()
        elif isinstance(event, yaml.AliasEvent):
            line = _line(event)
            self.fault(line, f"alias *{event.anchor} is not used here", "write the text out")
            self._put("", line)
        elif isinstance(event, yaml.DocumentStartEvent):
            self._documents += 1
            if self._documents > 1:
                self.fault(_line(event), "a second document (---) in one file", "use one a file")
                self.given_up = True

    def _check_marks(self, event: yaml.ScalarEvent | yaml.CollectionStartEvent) -> None:
        line = _line(event)
        if event.anchor is not None:
            self.fault(
                line, f"anchor &{event.anchor} is not used here", "write the text out where it is needed"
            )
        if event.tag is not None and event.tag != "!":
            self.fault(line, f"tag {event.tag!r} is not used here", "leave the tag out")

    def _open(self, data: "dict[str, Any] | list[Any]", line: int) -> None:
        place = Place(line)
        self._put(data, line, place)
        self._frames.append(_Frame(data, place))
        if len(self._frames) > DEEPEST:
            self.fault(line, TOO_DEEP)
            self.given_up = True

    def _put(self, value: Any, line: int, place: Place | None = None) -> None:
        if not self._frames:
            self.data, self.place = value, line if place is None else place
            return
        frame = self._frames[-1]
        if isinstance(frame.data, list):
            frame.place.inside[len(frame.data)] = line if place is None else place
            frame.data.append(value)
        elif frame.key_line == 0:
            self._key(frame, value, line)
        else:
            self._value(frame, value, place)

    def _key(self, frame: _Frame, key: Any, line: int) -> None:
        frame.key_line, frame.key = line, None
        if not isinstance(key, str):
            what = "a key is missing before ':'" if key is None else "a key that is itself a list or mapping"
            self.fault(line, what, "a key is plain text")
        elif key == "<<":
            self.fault(line, "merge keys (<<) are not used here", "write the keys out")
        elif key in frame.data:
            seen = frame.place.inside[key]
            first = seen if isinstance(seen, int) else seen.line
            self.problems.append(
                Problem(
                    self.file, line, f"key {key!r} is given twice, first on line {first}", "keep one of them"
                )
            )
            self.given_up = self.given_up or len(self.problems) >= MOST_PROBLEMS
        else:
            frame.key = key

    def _value(self, frame: _Frame, value: Any, place: Place | None) -> None:
        line, frame.key_line = frame.key_line, 0
        if frame.key is None or isinstance(frame.data, list):
            return
        frame.data[frame.key] = value
        if place is not None:
            place.line = line
        frame.place.inside[frame.key] = line if place is None else place


def _line(event: yaml.Event) -> int:
    return event.start_mark.line + 1 if event.start_mark else 1
