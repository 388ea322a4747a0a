"""New facts of a tree, put into the text of collection.yaml without touching the rest of it. Pure."""

from collections.abc import Mapping
from typing import Any

import yaml

from care_planner.folder.lists.text import flow
from care_planner.typed_yaml.located import parse_yaml


class NotInserted(Exception):
    """The text cannot be changed without touching more than the tree's own facts."""


def with_facts(text: str, tree: str, facts: Mapping[str, Any]) -> str:
    """The text with keys added to one tree; order, comments and blank lines stay as they are.

    `facts` are keys that the tree does not have yet. Raises NotInserted where the tree is not there, has
    one of the keys, or where the result would say anything else than the old text and the new facts.
    """
    node = _tree_node(text, tree)
    if not facts:
        return text
    changed = (_into_flow if node.flow_style else _into_block)(text, node, facts)
    if _data(changed) != _expected(_data(text), tree, facts):
        raise NotInserted(f"{tree}: the file cannot be changed by itself; add {', '.join(facts)} by hand")
    return changed


def _tree_node(text: str, tree: str) -> yaml.MappingNode:
    root = yaml.compose(text, Loader=yaml.SafeLoader)
    trees = _value(root, "trees")
    for node in trees.value if isinstance(trees, yaml.SequenceNode) else ():
        name = _value(node, "id")
        if isinstance(node, yaml.MappingNode) and name is not None and name.value == tree:
            return node
    raise NotInserted(f"{tree}: no such tree in the collection")


def _value(node: yaml.Node | None, key: str) -> yaml.Node | None:
    pairs = node.value if isinstance(node, yaml.MappingNode) else ()
    return next((value for name, value in pairs if name.value == key), None)


def _into_flow(text: str, node: yaml.MappingNode, facts: Mapping[str, Any]) -> str:
    """Before the closing brace: `{id: a, bench: b}` -> `{id: a, bench: b, age: young}`."""
    brace = node.end_mark.index - 1
    before = text[:brace].rstrip()
    comma = " " if before.endswith(",") else ", "
    told = ", ".join(f"{key}: {flow(value)}" for key, value in facts.items())
    return f"{before}{comma}{told}{text[brace:]}"


def _into_block(text: str, node: yaml.MappingNode, facts: Mapping[str, Any]) -> str:
    """A line each below the line of the id."""
    name = _value(node, "id")
    assert name is not None
    end = text.find("\n", name.end_mark.index)
    newline = "\r\n" if end > 0 and text[end - 1] == "\r" else "\n"
    indent = " " * node.start_mark.column
    told = "".join(f"{indent}{key}: {flow(value)}{newline}" for key, value in facts.items())
    if end < 0:
        return f"{text}{newline}{told}"
    return f"{text[: end + 1]}{told}{text[end + 1 :]}"


def _data(text: str) -> Any:
    located, problems = parse_yaml(text, "collection.yaml")
    if located is None or problems:
        raise NotInserted("the collection has mistakes; mend them first")
    return located.data


def _expected(data: Any, tree: str, facts: Mapping[str, Any]) -> Any:
    plain = _data(f"facts: {flow(dict(facts))}")["facts"]
    trees = [
        {**one, **{key: value for key, value in plain.items() if key not in one}}
        if one.get("id") == tree
        else one
        for one in data["trees"]
    ]
    return {**data, "trees": trees}
