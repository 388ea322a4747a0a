"""Rows of a list -> trees as a collection describes them, with every cell that could not be read."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from care_planner.collection.gazetteer.town import folded
from care_planner.collection.tree import Tree
from care_planner.folder.lists.cells import cell_text, taxon_of
from care_planner.folder.lists.headings import keys_of
from care_planner.folder.lists.read_sheet import CellSheet
from care_planner.folder.lists.text import WRITTEN_AS_YAML
from care_planner.problems import Problem
from care_planner.typed_yaml.located import Located, Place, parse_yaml
from care_planner.typed_yaml.validate import validate

DEFAULT_BENCH = "open"
Taxa = Mapping[str, Sequence[str]]  # by id: title and botanical name


@dataclass(frozen=True)
class TreeList:
    """Trees as plain data (text, nested dicts), in the order of the rows, and the headings left out."""

    trees: tuple[dict[str, Any], ...]
    left_out: tuple[str, ...]

    def benches(self) -> list[str]:
        """The benches named, in the order in which they first come."""
        named = [tree[key] for key in ("bench", "winter_bench") for tree in self.trees if key in tree]
        return list(dict.fromkeys(named))


def tree_list(sheet: CellSheet, taxa: Taxa) -> tuple[TreeList, list[Problem]]:
    """Read a sheet; each problem names the row, the column's heading and the cell."""
    keys, problems = keys_of(sheet.headings, sheet.file)
    if problems:
        return TreeList((), ()), problems
    trees: list[dict[str, Any]] = []
    for line, cells in zip(sheet.lines, sheet.rows, strict=True):
        tree, faults = _tree(sheet, keys, cells, line, taxa)
        trees.append(tree)
        problems += faults
    _give_ids(trees)
    for line, tree in zip(sheet.lines, trees, strict=True):
        problems += _mistakes(sheet, keys, line, tree)
    problems += _equal_ids(sheet, trees)
    left_out = tuple(h for h, key in zip(sheet.headings, keys, strict=True) if key is None and h)
    return TreeList(tuple(trees), left_out), sorted(set(problems))


def _tree(
    sheet: CellSheet, keys: Sequence[str | None], cells: Sequence[str], line: int, taxa: Taxa
) -> tuple[dict[str, Any], list[Problem]]:
    tree: dict[str, Any] = {}
    problems: list[Problem] = []
    for heading, key, cell in zip(sheet.headings, keys, cells, strict=True):
        if key is None or not cell:
            continue
        if key == "taxon":
            found = taxon_of(cell, taxa)
            if len(found) != 1:
                allowed = f"one of: {', '.join(found or sorted(taxa))}"
                problems.append(Problem(sheet.file, line, f"{heading}: which kind is {cell!r}", allowed))
                continue
            cell = found[0]
        value: Any = cell_text(key, cell)
        if cell[:1] in WRITTEN_AS_YAML:
            located, faults = parse_yaml(cell, sheet.file)
            if located is None:
                problems += [
                    Problem(sheet.file, line, f"{heading}: {fault.what}", fault.allowed) for fault in faults
                ]
                continue
            value = located.data
        _put(tree, key, value)
    if not any(problem.line == line for problem in problems) and "taxon" not in tree:
        problems.append(
            Problem(sheet.file, line, "the kind of this tree is empty", f"one of: {', '.join(sorted(taxa))}")
        )
    tree.setdefault("bench", DEFAULT_BENCH)
    return tree, problems


def _put(tree: dict[str, Any], key: str, value: Any) -> None:
    outer, _, inner = key.partition(".")
    if not inner or isinstance(value, dict):  # a cell that tells the whole, as our own lists have it
        tree[outer] = value
    elif isinstance(tree.setdefault(outer, {}), dict):
        tree[outer][inner] = value


def _give_ids(trees: Sequence[dict[str, Any]]) -> None:
    """Every tree its id: its own as a plain word, else one made of its kind and the next free number."""
    for tree in trees:
        if "id" in tree:
            tree["id"] = plain_id(tree["id"])
    taken = {tree["id"] for tree in trees if "id" in tree}
    for tree in trees:
        if "id" not in tree:
            stem = str(tree.get("taxon", "tree"))
            number = next(n for n in range(1, len(trees) + 2) if f"{stem}-{n:02d}" not in taken)
            tree["id"] = f"{stem}-{number:02d}"
            taken.add(tree["id"])


def plain_id(text: str) -> str:
    """`Tree No. 7` as an id: tree-no-7."""
    plain = "".join(c if c.isascii() and c.isalnum() else " " for c in folded(text))
    return "-".join(plain.split())[:64]


def _mistakes(sheet: CellSheet, keys: Sequence[str | None], line: int, tree: dict[str, Any]) -> list[Problem]:
    """What the model of a tree refuses, at the row; a kind that was not read is told already."""
    data = {"taxon": "not-read", **tree}
    _, problems = validate(Located(sheet.file, data, Place(line)), Tree)
    headings = {key: heading for key, heading in zip(keys, sheet.headings, strict=True) if key}
    return [Problem(sheet.file, line, _in_columns(p.what, headings), p.allowed) for p in problems]


def _in_columns(what: str, headings: Mapping[str, str]) -> str:
    """A message that begins with a key, begun with the column that the grower sees."""
    for key, heading in headings.items():
        if what.startswith(f"{key} ") and folded(heading) != folded(key):
            return f"{heading}: {what}"
    return what


def _equal_ids(sheet: CellSheet, trees: Sequence[dict[str, Any]]) -> list[Problem]:
    counts = Counter(str(tree["id"]) for tree in trees)
    return [
        Problem(sheet.file, line, f"tree {tree['id']} stands in the list twice", "give each tree its own id")
        for line, tree in zip(sheet.lines, trees, strict=True)
        if counts[str(tree["id"])] > 1
    ]
