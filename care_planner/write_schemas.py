"""JSON Schemas of the YAML files, generated from their models, for editors to complete and check by."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel

DIALECT = "https://json-schema.org/draft/2020-12/schema"

# Bounds of an optional number reach the schema under pydantic's own names.
BOUNDS = {"ge": "minimum", "gt": "exclusiveMinimum", "le": "maximum", "lt": "exclusiveMaximum"}


def schema_text(model: type[BaseModel]) -> str:
    """The schema of the YAML that `model` reads, as sorted JSON text with a line break at its end."""
    schema = _tidy({"$schema": DIALECT, **model.model_json_schema(by_alias=True)})
    return json.dumps(schema, indent=2, sort_keys=True, ensure_ascii=False) + "\n"


def write_schemas(folder: Path, models: Mapping[str, type[BaseModel]]) -> None:
    """Write `folder/NAME.schema.json` for each model; raises OSError where the disk refuses."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, model in models.items():
        (folder / f"{name}.schema.json").write_text(schema_text(model), encoding="utf-8")


def _tidy(part: Any) -> Any:
    """Leave out the titles that pydantic makes of names, and give optional numbers their bounds' right names.

    A `title` that is a mapping is a key of that name in somebody's file and stays.
    """
    if isinstance(part, list):
        return [_tidy(item) for item in part]
    if not isinstance(part, dict):
        return part
    renamed = BOUNDS if isinstance(part.get("type"), str) else {}
    return {
        renamed.get(key, key): _tidy(value)
        for key, value in part.items()
        if key != "title" or isinstance(value, dict)
    }
