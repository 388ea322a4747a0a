"""The packs' own examples, each run through the engine; and that a wrong one is seen."""

import pytest
from planning import rulebook

from care_planner.rulebook.rule import Example
from care_planner.tools.run_examples import run_examples

TAXA = sorted(rulebook().taxa)


@pytest.mark.parametrize("taxon", TAXA)
def test_examples(taxon: str) -> None:
    results = list(run_examples(rulebook().taxa[taxon]))
    assert results
    assert [f"{result.words}: {result.fault}" for result in results if result.fault] == []


@pytest.mark.parametrize("taxon", TAXA)
def test_every_rule_has_one_that_fires_and_one_that_does_not(taxon: str) -> None:
    missing = {
        id
        for id, rule in rulebook().taxa[taxon].rules.items()
        if {example.fires for example in rule.examples} != {True, False}
    }
    # On the example weather spring always has room, bloom ends in time and summers stay under 32 degC: none
    # of these is needed there.
    assert missing <= {"repot-after-bloom", "end-bloom-early", "summer-shade"}


def test_a_wrong_example_is_seen() -> None:
    rules = rulebook().taxa["satsuki-azalea"]
    wrong = rules.rules["tag-colours"].model_copy(
        update={"examples": [Example.model_validate({"fires": "no"})]}
    )
    from dataclasses import replace

    planted = replace(rules, rules={**rules.rules, "tag-colours": wrong})
    assert any(result.fault for result in run_examples(planted) if result.rule == "tag-colours")
