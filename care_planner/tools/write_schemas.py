"""JSON Schemas of the YAML files, generated from their models, for editors to complete and check by.

python -m care_planner.tools.write_schemas
"""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from care_planner.collection.model import Collection
from care_planner.journal.model import JournalFile
from care_planner.rulebook.pack import OwnPack, Pack
from care_planner.rulebook.rule import Rule
from care_planner.tools.key_texts import KEYS

MODELS: Mapping[str, type[BaseModel]] = {
    "collection": Collection,
    "journal": JournalFile,
    "own-pack": OwnPack,
    "pack": Pack,
}
DIALECT = "https://json-schema.org/draft/2020-12/schema"

# An editor reads YAML 1.2, where `yes` is a text; the models take it for true.
YES_NO = {"enum": [True, False, "yes", "no"]}
# Bounds of an optional number reach the schema under pydantic's own names.
BOUNDS = {"ge": "minimum", "gt": "exclusiveMinimum", "le": "maximum", "lt": "exclusiveMaximum"}


def schema_text(model: type[BaseModel]) -> str:
    """The schema of the YAML that `model` reads, as sorted JSON text with a line break at its end."""
    schema = model.model_json_schema(by_alias=True)
    if model is OwnPack:
        schema = _with_rule_changes(schema)
    schema = _with_key_texts(_tidy({"$schema": DIALECT, **schema}), model.__name__)
    return json.dumps(schema, indent=2, sort_keys=True, ensure_ascii=False) + "\n"


def write_schemas(folder: Path, models: Mapping[str, type[BaseModel]]) -> None:
    """Write `folder/NAME.schema.json` for each model; raises OSError where the disk refuses."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, model in models.items():
        (folder / f"{name}.schema.json").write_text(schema_text(model), encoding="utf-8")


def _with_key_texts(schema: dict[str, Any], root: str) -> dict[str, Any]:
    """Say of each key of a pack what it means."""
    parts = {name: _described(part, name) for name, part in schema.get("$defs", {}).items()}
    return {**_described(schema, root), **({"$defs": parts} if parts else {})}


def _described(part: dict[str, Any], name: str) -> dict[str, Any]:
    texts = KEYS.get("Rule" if name == "RuleChange" else name, {})
    if not texts or "properties" not in part:
        return part
    keys = {
        key: {**value, "description": texts[key]} if key in texts else value
        for key, value in part["properties"].items()
    }
    return {**part, "properties": keys}


def _with_rule_changes(schema: dict[str, Any]) -> dict[str, Any]:
    """Say what may stand in a change of a rule: any of its keys, and its id.

    The model cannot say it: what is missing there comes from the pack below, and only both together are
    a rule.
    """
    rule = Rule.model_json_schema(by_alias=True)
    parts = rule.pop("$defs")
    change = {**rule, "required": ["id"], "description": "Keys of a rule to change, or a new rule, whole."}
    rules = {**schema["properties"]["rules"], "items": {"$ref": "#/$defs/RuleChange"}}
    properties = {**schema["properties"], "rules": rules}
    return {**schema, "$defs": {**parts, "RuleChange": change}, "properties": properties}


def _tidy(part: Any) -> Any:
    """Leave out the titles that pydantic makes of names, and say numbers' bounds and yes or no as editors do.

    A `title` that is a mapping is a key of that name in somebody's file and stays.
    """
    if isinstance(part, list):
        return [_tidy(item) for item in part]
    if not isinstance(part, dict):
        return part
    if part.get("type") == "boolean":
        part = {**YES_NO, **{key: value for key, value in part.items() if key != "type"}}
    renamed = BOUNDS if isinstance(part.get("type"), str) else {}
    return {
        renamed.get(key, key): _tidy(value)
        for key, value in part.items()
        if key != "title" or isinstance(value, dict)
    }


if __name__ == "__main__":
    write_schemas(Path(__file__).parents[1] / "schemas", MODELS)
