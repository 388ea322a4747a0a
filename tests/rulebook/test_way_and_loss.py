"""How a rule reaches a person, and what missing it costs: told by the pack, or by the kind of work."""

from pathlib import Path

import pytest
from pack_files import BASE, read

from care_planner.rulebook.read_packs import read_rulebook
from care_planner.rulebook.rule import LOSS_BY_KIND, LOSSES, WAY_BY_KIND, WORK_KINDS, Rule


def second(folder: Path, lines: str) -> Rule:
    """The last rule of the base, with more lines."""
    rulebook, problems = read(folder, BASE + "".join(f"    {line}\n" for line in lines.splitlines()))
    assert problems == []
    return rulebook.taxa["flowering-tree"].rules["second"]


def test_where_the_pack_is_silent_the_kind_of_work_decides(tmp_path: Path) -> None:
    rule = second(tmp_path, "")
    assert (rule.kind, rule.way, rule.loss) == ("cuttings", "work", "nothing")


def test_what_the_pack_says_holds(tmp_path: Path) -> None:
    rule = second(tmp_path, "way: walk\nloss: nothing")
    assert (rule.way, rule.loss) == ("walk", "nothing")


def test_another_kind_in_an_own_file_brings_its_own_way(tmp_path: Path) -> None:
    own = "lays_over: flowering-tree\nrules:\n  - {id: second, kind: water}\n"
    rulebook, problems = read(tmp_path, mine=own)
    rule = rulebook.taxa["flowering-tree"].rules["second"]
    assert (problems, rule.way, rule.loss) == ([], "walk", "tree")


def test_another_word_is_a_mistake(tmp_path: Path) -> None:
    _, problems = read(tmp_path, BASE + "    way: stroll\n    loss: money\n")
    file, last = "rules/flowering-tree.yaml", len(BASE.splitlines())
    assert problems == [
        f"{file}:{last + 1}: way is 'stroll'; allowed: standing, walk, watch, work",
        f"{file}:{last + 2}: loss is 'money'; allowed: flowers, form, growth, looks, nothing, tree",
    ]


def test_every_kind_has_a_default() -> None:
    assert set(LOSS_BY_KIND) == set(WORK_KINDS)
    assert set(LOSS_BY_KIND.values()) <= set(LOSSES)
    assert set(WAY_BY_KIND) < set(WORK_KINDS)


@pytest.mark.parametrize("key", ["way", "loss"])
def test_the_shipped_packs_say_it_of_every_rule(key: str) -> None:
    rulebook, _ = read_rulebook()
    silent = {
        f"{taxon}: {id}"
        for taxon, rules in rulebook.taxa.items()
        for id, rule in rules.rules.items()
        if key not in rule.model_fields_set
    }
    assert silent == set()
