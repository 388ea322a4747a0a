"""The shipped schemas of packs are those of the models, take every shipped file, and find faults in it.

Checked with jsonschema, an outside implementation of draft 2020-12, on the files as an editor reads them:
by YAML 1.2, where `yes` is a text.
"""

import json
import re
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from care_planner.rulebook.read_packs import shipped_folder
from care_planner.tools.write_schemas import MODELS, schema_text

REWRITE = "stale: run python -m care_planner.tools.write_schemas"
EXAMPLES = Path(__file__).parents[1] / "examples"
PACKS = sorted(shipped_folder().glob("*.yaml"))


class EditorLoader(yaml.SafeLoader):
    """Plain scalars by the core schema of YAML 1.2, as far as these files need it: no dates, no `yes`."""


EditorLoader.yaml_implicit_resolvers = {
    first: [(tag, found) for tag, found in resolvers if tag.rsplit(":", 1)[1] not in ("bool", "timestamp")]
    for first, resolvers in yaml.SafeLoader.yaml_implicit_resolvers.items()
}
EditorLoader.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile("^(true|false)$"), list("tf"))


def shipped(name: str) -> str:
    return (files("care_planner") / "schemas" / f"{name}.schema.json").read_text(encoding="utf-8")


def keys_as_text(data: Any) -> Any:
    """JSON has no other keys."""
    if isinstance(data, dict):
        return {str(key): keys_as_text(value) for key, value in data.items()}
    return [keys_as_text(item) for item in data] if isinstance(data, list) else data


def faults(name: str, text: str) -> list[str]:
    """What the shipped schema of this name finds in a YAML text, each with its place."""
    data = keys_as_text(yaml.load(text, EditorLoader))
    found = Draft202012Validator(json.loads(shipped(name))).iter_errors(data)
    return [f"{'/'.join(map(str, fault.absolute_path))}: {fault.message}" for fault in found]


@pytest.mark.parametrize("name", MODELS)
def test_the_shipped_schema_is_not_stale(name: str) -> None:
    assert shipped(name) == schema_text(MODELS[name]), REWRITE


@pytest.mark.parametrize("name", MODELS)
def test_reference_it_is_a_schema_of_draft_2020_12(name: str) -> None:
    Draft202012Validator.check_schema(json.loads(shipped(name)))


@pytest.mark.parametrize("pack", PACKS, ids=lambda path: path.stem)
def test_it_takes_every_shipped_pack(pack: Path) -> None:
    assert faults("pack", pack.read_text(encoding="utf-8")) == []


def test_the_example_collection_and_its_journal_are_taken() -> None:
    folder = EXAMPLES / "gangneung"
    assert faults("collection", (folder / "collection.yaml").read_text(encoding="utf-8")) == []
    journals = sorted((folder / "journal").glob("*.yaml"))
    assert journals
    for journal in journals:
        assert faults("journal", journal.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("there", "instead", "place"),
    [
        ("kind: deciduous", "kind: decidous", "taxon"),
        ("title: Japanese maple", "titel: Japanese maple", ""),
        ('bbch: "07"', "bbch: seven", "stages/2/bbch"),
        ("minutes: {small: 45, large: 180}", "minutes: {small: 45}", "rules/0/minutes"),
        ("cuts_shoots: yes", "cuts_shoots: perhaps", "rules/5/effects/0/cuts_shoots"),
    ],
)
def test_it_finds_a_planted_fault(there: str, instead: str, place: str) -> None:
    text = (shipped_folder() / "japanese-maple.yaml").read_text(encoding="utf-8")
    assert text.count(there) >= 1
    found = faults("pack", text.replace(there, instead, 1))
    assert found and found[0].startswith(place), found


def test_a_change_of_a_rule_needs_its_id_and_takes_any_of_its_keys() -> None:
    good = "lays_over: container-tree\nremove: [vent-shelter]\nrules:\n  - {id: shelter, choose: early}\n"
    assert faults("own-pack", good) == []
    assert faults("own-pack", good.replace("id: shelter, ", "")) == ["rules/0: 'id' is a required property"]
    assert faults("own-pack", good.replace("choose", "chose"))[0].startswith("rules/0: Additional properties")
    assert faults("own-pack", good.replace("early", "erly"))[0].startswith("rules/0/choose: 'erly' is not")
