"""Rows of a list -> trees as a collection describes them, with every cell that could not be read."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from care_planner.collection.gazetteer.town import folded
from care_planner.collection.tree import Tree
from care_planner.folder.lists.cells import cell_read
from care_planner.folder.lists.headings import keys_of
from care_planner.folder.lists.kinds import kind_told, taxon_of, without_cultivar
from care_planner.folder.lists.read_sheet import CellSheet
from care_planner.folder.lists.text import WRITTEN_AS_YAML
from care_planner.problems import Problem, nearest
from care_planner.typed_yaml.located import Located, Place, parse_yaml
from care_planner.typed_yaml.validate import validate

DEFAULT_BENCH = "open"
LONGEST_NAME_AS_ID = 30  # letters; ids stand on the phone
MOST_ROWS_NAMED = 8
Taxa = Mapping[str, Sequence[str]]  # by id: title and botanical name


@dataclass(frozen=True)
class TreeList:
    """Trees as plain data (text, nested dicts), in the order of the rows; the headings used, each with its
    key, and those left out; and what was read into cells that say less, with the rows."""

    trees: tuple[dict[str, Any], ...]
    left_out: tuple[str, ...]
    used: tuple[tuple[str, str], ...] = ()
    read_as: tuple[str, ...] = ()

    def benches(self) -> list[str]:
        """The benches named, in the order in which they first come."""
        named = [tree[key] for key in ("bench", "winter_bench") for tree in self.trees if key in tree]
        return list(dict.fromkeys(named))


def tree_list(sheet: CellSheet, taxa: Taxa, south: bool = False) -> tuple[TreeList, list[Problem]]:
    """Read a sheet; each problem names the row, the column's heading and the cell. In the `south` spring is
    in September."""
    keys, problems = keys_of(sheet.headings, sheet.file)
    if "taxon" not in keys:
        return TreeList((), ()), problems
    trees: list[dict[str, Any]] = []
    read_as: dict[str, list[int]] = {}
    for line, cells in zip(sheet.lines, sheet.rows, strict=True):
        tree: dict[str, Any] = {}
        for heading, key, cell in zip(sheet.headings, keys, cells, strict=True):
            if key is not None and cell:
                value, told, faults = _cell_value(sheet.file, line, heading, key, cell, taxa, south)
                problems += faults
                if told:
                    read_as.setdefault(f"{heading}: {told}", []).append(line)
                if not faults and value != "":
                    _put(tree, key, value)
        if "taxon" not in tree and not any(problem.line == line for problem in problems):
            what = "the kind of this tree is empty"
            problems.append(Problem(sheet.file, line, what, f"one of: {', '.join(sorted(taxa))}"))
        tree.setdefault("bench", DEFAULT_BENCH)
        if tree.get("winter_bench") == tree["bench"]:  # it stays where it stands
            del tree["winter_bench"]
        trees.append(tree)
    _give_ids(trees)
    for line, tree in zip(sheet.lines, trees, strict=True):
        problems += _mistakes(sheet, keys, line, tree)
    problems += _equal_ids(sheet, trees)
    columns = tuple(zip(sheet.headings, keys, strict=True))
    listed = TreeList(
        tuple(trees),
        tuple(heading for heading, key in columns if key is None and heading),
        tuple((heading, key) for heading, key in columns if key is not None),
        tuple(f"{told} ({_rows(lines)})" for told, lines in read_as.items()),
    )
    return listed, sorted(set(problems))


def _rows(lines: Sequence[int]) -> str:
    named = ", ".join(map(str, lines[:MOST_ROWS_NAMED]))
    more = f" and {len(lines) - MOST_ROWS_NAMED} more" if len(lines) > MOST_ROWS_NAMED else ""
    return f"row {named}" if len(lines) == 1 else f"rows {named}{more}"


def _cell_value(
    file: str, line: int, heading: str, key: str, cell: str, taxa: Taxa, south: bool
) -> tuple[Any, str, list[Problem]]:
    """What a cell says, how it was read where that needs telling, and what is wrong with it."""
    if key == "taxon":
        found = taxon_of(cell, taxa)
        if len(found) == 1:
            return found[0], kind_told(cell, found[0]), []
        return "", "", [Problem(file, line, *_no_kind(heading, cell, found, taxa))]
    if cell[:1] in WRITTEN_AS_YAML:
        located, faults = parse_yaml(cell, file)
        problems = [Problem(file, line, f"{heading}: {fault.what}", fault.allowed) for fault in faults]
        return (located.data if located is not None else ""), "", problems
    value, told = cell_read(key, cell, south)
    return value, told, []


def _no_kind(heading: str, cell: str, found: Sequence[str], taxa: Taxa) -> tuple[str, str]:
    if found:
        return f"{heading} {cell!r} can be: {', '.join(found)}", "name one of these"
    names = {folded(name): id for id, names in taxa.items() for name in (id, *names)}
    near = nearest(folded(without_cultivar(cell)), names)
    allowed = f"did you mean {names[near]}?" if near else f"allowed: {', '.join(sorted(taxa))}."
    return f"there are no rules for the {folded(heading)} {cell!r}", f"{allowed} Or leave the row out"


def _put(tree: dict[str, Any], key: str, value: Any) -> None:
    outer, _, inner = key.partition(".")
    if not inner or isinstance(value, dict):  # a cell that tells the whole, as our own lists have it
        tree[outer] = value
    elif isinstance(tree.setdefault(outer, {}), dict):
        tree[outer][inner] = value


def _give_ids(trees: Sequence[dict[str, Any]]) -> None:
    """Every tree its id: its own as a plain word, else its name's where all names are short and differ, else
    one made of its kind and the next free number. What was written stays its name where letters were lost."""
    for tree in trees:
        if "id" in tree:
            written = tree["id"]
            tree["id"] = plain_id(written)
            if written.replace(" ", "-") != tree["id"]:
                tree.setdefault("name", written)
    names = [plain_id(str(tree.get("name", ""))) for tree in trees]
    short = all(0 < len(name) <= LONGEST_NAME_AS_ID for name in names)
    if short and len(set(names)) == len(names) and not any("id" in tree for tree in trees):
        for tree, name in zip(trees, names, strict=True):
            tree["id"] = name
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
        if what.startswith(f"{key} "):
            return f"{heading}{what.removeprefix(key)}"
    return what


def _equal_ids(sheet: CellSheet, trees: Sequence[dict[str, Any]]) -> list[Problem]:
    counts = Counter(str(tree["id"]) for tree in trees)
    return [
        Problem(sheet.file, line, f"tree {tree['id']} stands in the list twice", "give each tree its own id")
        for line, tree in zip(sheet.lines, trees, strict=True)
        if counts[str(tree["id"])] > 1
    ]
