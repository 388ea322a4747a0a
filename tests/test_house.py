"""The whole house: no circle among files or rooms, not too many rooms and arrows, no name twice."""

import ast
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "care_planner"
# 24 when the rooms were laid out; the days to come (`outlook/`) brought one more.
ROOMS_AT_MOST = 25
# The aim was 130; the weather of the week, the fit, the paper and the pages took more. It may not grow.
ARROWS_AT_MOST = 167
# File names that say what they are in every room that has one, and rooms that say what they do with the
# thing a file is named for: `show/plan.py` shows a plan, `words/moves.py` has the words of moves.
CLEAR_IN_EVERY_ROOM = {"__init__", "model"}
ROOMS_OF_DOING = {"show", "words", "note", "serve", "lists", "paper", "pictures", "commands"}

Arrows = Mapping[str, set[str]]


def sources() -> dict[str, str]:
    """Every file of the package by its dotted name, `care_planner` left out."""
    return {
        ".".join(path.relative_to(PACKAGE).with_suffix("").parts): path.read_text(encoding="utf-8")
        for path in sorted(PACKAGE.rglob("*.py"))
    }


def imports(source: str) -> Iterator[str]:
    """Dotted names that a file may import from the package: at its top, inside a function, for types only."""
    for node in ast.walk(ast.parse(source)):
        names: list[str] = []
        if isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module, *(f"{node.module}.{alias.name}" for alias in node.names)]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        yield from (name.removeprefix("care_planner.") for name in names if name.startswith("care_planner."))


def file_arrows(files: Mapping[str, str]) -> Arrows:
    """Which files each file imports."""
    return {name: {to for to in imports(source) if to in files} for name, source in files.items()}


def room_arrows(files: Mapping[str, str]) -> Arrows:
    """Which rooms each room imports; a file directly in the package is a room of its own."""
    found: defaultdict[str, set[str]] = defaultdict(set)
    for name, source in files.items():
        room = name.split(".")[0]
        found[room] |= {to.split(".")[0] for to in imports(source)} - {room}
    return found


def circle(arrows: Arrows) -> list[str]:
    """One circle of arrows, or nothing."""
    try:
        list(TopologicalSorter(arrows).static_order())
    except CycleError as found:
        return list(found.args[1])
    return []


def twice(pairs: Iterable[tuple[str, str]]) -> dict[str, list[str]]:
    """Names that stand in more than one place."""
    places: defaultdict[str, list[str]] = defaultdict(list)
    for name, place in pairs:
        places[name].append(place)
    return {name: held for name, held in places.items() if len(held) > 1}


def class_names(files: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """(class, file); what a file keeps to itself does not count."""
    for name, source in files.items():
        for node in ast.parse(source).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                yield node.name, name


def file_names(files: Iterable[str]) -> Iterator[tuple[str, str]]:
    """(file name, dotted name) of those a reader could take for one another."""
    for name in files:
        stem = name.split(".")[-1]
        does = ROOMS_OF_DOING & set(name.split(".")[:-1])
        if stem not in CLEAR_IN_EVERY_ROOM and "." in name and not does:
            yield stem, name


def test_no_circle() -> None:
    assert circle(file_arrows(sources())) == []
    assert circle(room_arrows(sources())) == []


def test_no_name_twice() -> None:
    assert twice(class_names(sources())) == {}
    assert twice(file_names(sources())) == {}


def test_few_rooms_and_arrows() -> None:
    arrows = room_arrows(sources())
    count = sum(map(len, arrows.values()))
    assert len(arrows.keys() - {"__init__"}) <= ROOMS_AT_MOST and count <= ARROWS_AT_MOST, (
        len(arrows),
        count,
    )


@pytest.mark.parametrize(
    "line",
    [
        "from care_planner.serve.app import make",
        "def f():\n    import care_planner.serve.app",
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from care_planner.serve import app",
    ],
)
def test_a_planted_circle_is_seen(line: str) -> None:
    files = {"colours.rates": line, "serve.app": "from care_planner.colours.rates import grid"}
    assert circle(file_arrows(files)) and circle(room_arrows(files))
    apart = {
        "colours.rates": line,
        "serve.app": "from care_planner.colours.slices import cut",
        "colours.slices": "",
    }
    assert not circle(file_arrows(apart)) and circle(room_arrows(apart))


def test_planted_names_are_seen() -> None:
    files = {
        "colours.words": "class Plan: ...",
        "journal.words": "class Plan: ...\nclass _Own: ...",
        "plan": "",
    }
    assert set(twice(class_names(files))) == {"Plan"}
    assert set(twice(file_names(files))) == {"words"}


if __name__ == "__main__":
    for room, others in sorted(room_arrows(sources()).items()):
        if room != "__init__":
            print(f"{room}: {', '.join(sorted(others))}")
    print(f"{len(room_arrows(sources())) - 1} rooms, {sum(map(len, room_arrows(sources()).values()))} arrows")
