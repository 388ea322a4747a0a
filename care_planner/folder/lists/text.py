"""Trees and notes as CSV: a column a key, so that reading them back gives the same."""

import csv
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import yaml

from care_planner.collection.tree import Tree

TREE_KEYS = tuple(Tree.model_fields)
# How a cell begins that is YAML on one line: a mapping, a list, or a text that would look like one.
WRITTEN_AS_YAML = ("{", "[", '"')


class _AsText(yaml.SafeDumper):
    """Writes what `parse_yaml` reads back: every scalar is a text there, only nothing is not."""

    yaml_implicit_resolvers = {
        first: [(tag, pattern) for tag, pattern in resolvers if tag == "tag:yaml.org,2002:null"]
        for first, resolvers in yaml.SafeDumper.yaml_implicit_resolvers.items()
    }


def flow(value: Any) -> str:
    """Plain data as YAML on one line, as a cell or inside a flow mapping; dates and numbers unquoted."""
    text = yaml.dump(
        value,
        Dumper=_AsText,
        default_flow_style=True,
        width=float("inf"),
        allow_unicode=True,
        sort_keys=False,
    )
    return text.removesuffix("\n").removesuffix("\n...")


def trees_csv(trees: Sequence[Mapping[str, Any]]) -> str:
    """A row a tree; a column for each key that any of them has. `trees` are what collection.yaml says of
    them, as plain data. Cells of several parts are YAML on one line."""
    keys = [key for key in TREE_KEYS if any(key in tree for tree in trees)]
    return table(keys, ([tree.get(key) for key in keys] for tree in trees))


def journal_csv(entries: Sequence[Mapping[str, Any]]) -> str:
    """A row an entry, as the journal has it; a column for each key that any of them has."""
    keys = list(dict.fromkeys(key for entry in entries for key in entry))
    return table(keys, ([entry.get(key) for key in keys] for entry in entries))


def table(headings: Sequence[str], rows: Iterable[Sequence[Any]]) -> str:
    """CSV with a heading; the stream that it is printed to ends lines in its own way."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(headings)
    for row in rows:
        writer.writerow(["" if cell is None else _cell(cell) for cell in row])
    return out.getvalue()


def _cell(value: Any) -> str:
    if isinstance(value, dict | list):
        return flow(value)
    text = str(value)
    return json.dumps(text, ensure_ascii=False) if text.startswith(WRITTEN_AS_YAML) else text
