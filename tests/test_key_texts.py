"""Every key of a pack says what it means, in the schemas and on the page for those who write packs."""

import json
from pathlib import Path
from typing import Any

from care_planner.tools.key_texts import KEYS
from care_planner.tools.write_key_tables import BEGIN, END, PAGE, page_with_tables

ROOT = Path(__file__).parents[1]


def models(file: str) -> dict[str, dict[str, Any]]:
    schema = json.loads((ROOT / "care_planner" / "schemas" / f"{file}.schema.json").read_bytes())
    return {**schema["$defs"], "Pack": schema} if file == "pack" else schema["$defs"]


def undescribed(parts: dict[str, dict[str, Any]]) -> set[str]:
    return {
        f"{name}.{key}"
        for name, part in parts.items()
        if name in KEYS
        for key, value in part.get("properties", {}).items()
        if not value.get("description")
    }


def test_every_key_is_described_to_editors() -> None:
    assert undescribed(models("pack")) == set()
    assert undescribed({"Rule": models("own-pack")["RuleChange"]}) == set()


def test_a_key_without_words_is_seen() -> None:
    assert undescribed({"Rule": {"properties": {"id": {"type": "string"}}}}) == {"Rule.id"}


def test_the_page_lists_every_key() -> None:
    page = PAGE.read_text(encoding="utf-8")
    assert page_with_tables(page) == page, "run: python -m care_planner.tools.write_key_tables"


def test_a_stale_page_is_seen() -> None:
    page = f"x\n{BEGIN}\n\n| `id` | old |\n{END}\ny"
    fresh = page_with_tables(page)
    assert (
        fresh != page
        and page_with_tables(fresh) == fresh
        and fresh.startswith("x\n")
        and fresh.endswith("\ny")
    )
