"""The table of all rules is that of the packs, and says what a grower looks for in it."""

from dataclasses import replace
from pathlib import Path

import pytest

from care_planner.problems import ProblemsFound
from care_planner.rulebook.pack import Rulebook
from care_planner.rulebook.read_packs import read_rulebook, shipped_folder
from care_planner.rulebook.rule import Rule
from care_planner.tools.write_rule_table import TABLE_FILE, table_text, write_rule_table

REWRITE = "stale: run python -m care_planner.tools.write_rule_table"


@pytest.fixture(scope="module")
def rulebook() -> Rulebook:
    found, problems = read_rulebook()
    assert not problems
    return found


def row(table: str, pack: str, rule: str) -> list[str]:
    """The cells of one rule's row."""
    section = table.split(f"\n## {pack}: ")[1].split("\n## ")[0]
    (line,) = (line for line in section.splitlines() if line.startswith(f"| `{rule}` |"))
    return [cell.strip() for cell in line.strip("|").split(" | ")]


def changed(rulebook: Rulebook, taxon: str, id: str, **to: object) -> Rulebook:
    """The same rulebook with one rule of one taxon changed."""
    rules = rulebook.taxa[taxon]
    other = Rule.model_validate({**rules.rules[id].model_dump(exclude_none=True), **to})
    return replace(rulebook, taxa={**rulebook.taxa, taxon: replace(rules, rules={**rules.rules, id: other})})


def test_the_shipped_table_is_not_stale(rulebook: Rulebook) -> None:
    assert (shipped_folder() / TABLE_FILE).read_text(encoding="utf-8") == table_text(rulebook), REWRITE


def test_a_changed_rule_makes_it_stale(rulebook: Rulebook) -> None:
    for change in ({"title": "Another title"}, {"minutes": {"small": 7, "large": 8}}, {"source": "another"}):
        assert table_text(changed(rulebook, "japanese-maple", "twig-thin", **change)) != table_text(rulebook)


def test_every_rule_in_force_has_one_row_in_its_own_pack(rulebook: Rulebook) -> None:
    table = table_text(rulebook)
    expected = {(rules.origins[id].pack, id) for rules in rulebook.taxa.values() for id in rules.rules}
    assert len(expected) > 50
    for pack, id in expected:
        assert len(row(table, pack, id)) == 7
    assert sum(line.startswith("| `") for line in table.splitlines()) == len(expected)


def test_a_row_says_for_whom_when_how_long_and_whence(rulebook: Rulebook) -> None:
    cells = row(table_text(rulebook), "japanese-maple", "repot")
    assert cells == [
        "`repot`",
        "Repot",
        "only: repot due; one heavy work a season",
        "bud swell",
        "1 day before leaf out",
        "45, 180",
        "common practice, no source",
    ]


def test_a_bar_or_a_line_break_in_a_text_stays_in_its_cell(rulebook: Rulebook) -> None:
    table = table_text(changed(rulebook, "japanese-maple", "twig-thin", title="Thin | twigs\nnow"))
    assert row(table, "japanese-maple", "twig-thin")[1] == "Thin \\| twigs now"


def test_writing_it(tmp_path: Path, rulebook: Rulebook) -> None:
    write_rule_table(tmp_path)
    assert (tmp_path / TABLE_FILE).read_text(encoding="utf-8") == table_text(rulebook)


def test_a_mistake_in_a_pack_writes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "broken.yaml").write_text("pack: broken\n", encoding="utf-8")
    monkeypatch.setattr("care_planner.rulebook.read_packs.shipped_folder", lambda: tmp_path)
    with pytest.raises(ProblemsFound):
        write_rule_table(tmp_path)
    assert not (tmp_path / TABLE_FILE).exists()
