"""The shipped JSON Schemas are those of the models, and say what an editor needs."""

import json
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from pydantic import BaseModel

from care_planner.collection.model import Collection
from care_planner.journal.model import JournalFile
from care_planner.tools.write_schemas import schema_text, write_schemas

MODELS: dict[str, type[BaseModel]] = {"collection": Collection, "journal": JournalFile}


def shipped(name: str) -> str:
    return (files("care_planner") / "schemas" / f"{name}.schema.json").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", MODELS)
def test_the_shipped_schema_is_not_stale(name: str) -> None:
    assert shipped(name) == schema_text(MODELS[name])


def test_writing_them(tmp_path: Path) -> None:
    write_schemas(tmp_path / "schemas", MODELS)
    assert sorted(path.name for path in (tmp_path / "schemas").iterdir()) == [
        "collection.schema.json",
        "journal.schema.json",
    ]
    assert (tmp_path / "schemas" / "journal.schema.json").read_text(encoding="utf-8") == shipped("journal")


def test_keys_and_types_are_those_of_the_file() -> None:
    schema: dict[str, Any] = json.loads(shipped("collection"))
    tree, away, bench = (schema["$defs"][name] for name in ("Tree", "Away", "Bench"))
    assert schema["additionalProperties"] is False and tree["additionalProperties"] is False
    assert tree["required"] == ["id", "taxon", "bench"]
    assert set(away["properties"]) == {"from", "to"}
    assert bench["properties"]["floor_c"]["anyOf"][0] == {"type": "number", "minimum": -30, "maximum": 30}
    assert {"type": "null"} in schema["properties"]["benches"]["patternProperties"].popitem()[1]["anyOf"]
    assert tree["properties"]["goal"]["anyOf"][0]["enum"] == ["flowers", "vigour", "balanced"]
    assert schema["$defs"]["Site"]["properties"]["latitude"]["type"] == "number"


def test_a_bbch_code_may_be_a_number() -> None:
    entry = json.loads(shipped("journal"))["$defs"]["WrittenEntry"]
    assert "integer" in entry["properties"]["saw"]["anyOf"][0]["type"]
