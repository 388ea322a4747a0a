"""Writes the tables of a pack's keys into DEVELOPERS.md, between its two marks.

python -m care_planner.tools.write_key_tables
"""

from collections.abc import Iterator
from pathlib import Path

from care_planner.rulebook.pack import Pack
from care_planner.tools.key_texts import KEYS

BEGIN = "<!-- the keys of a pack: written by `python -m care_planner.tools.write_key_tables` -->"
END = "<!-- the end of the keys -->"
PAGE = Path(__file__).parents[2] / "DEVELOPERS.md"
# What stands inside a key of another model, for the heading.
INSIDE = {
    "Pack": "A pack",
    "Taxon": "`taxon`",
    "Stage": "A stage",
    "BloomCurve": "`bloom_curve`",
    "CurvePoint": "A point of `bloom_curve`",
    "Moment": "A moment",
    "Rule": "A rule",
    "Effect": "An effect",
}


def page_with_tables(page: str) -> str:
    """The page with its tables as the models now are; ValueError where a mark is missing."""
    before, rest = page.split(BEGIN)
    _, after = rest.split(END)
    return "".join((before, BEGIN, "\n\n", "\n".join(tables()), "\n", END, after))


def tables() -> Iterator[str]:
    """A table a model: its keys, and what each means."""
    schema = Pack.model_json_schema(by_alias=True)
    parts = {**schema["$defs"], "Pack": schema}
    for name, texts in KEYS.items():
        keys = parts.get(name, {}).get("properties", {})
        if keys:
            yield f"**{INSIDE.get(name, name)}**\n\n| key | meaning |\n|---|---|"
            yield from (f"| `{key}` | {texts.get(key, '')} |" for key in keys)
            yield ""


if __name__ == "__main__":
    PAGE.write_text(page_with_tables(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
