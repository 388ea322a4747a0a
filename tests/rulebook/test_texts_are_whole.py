"""A list on one line is split at its commas: what stands in quotes stays whole."""

import pytest
from planning import rulebook

from care_planner.rulebook.rule import Rule

RULES = {f"{taxon}/{rule.id}": rule for taxon, of in rulebook().taxa.items() for rule in of.rules.values()}
# Words with which a sentence or a thing to avoid does not begin.
TORN = ("which ", "since ", "and ", "or ", "for ", "in which ", "that ", "leave it ", "so ", "because ")


def torn(rule: Rule) -> list[str]:
    """The texts of a rule that are the end of another."""
    cautions = [text for text in rule.cautions if not text[0].isupper()]
    return cautions + [text for text in (*rule.needs, *rule.forbids) if text.startswith(TORN)]


@pytest.mark.parametrize("name", sorted(RULES))
def test_no_text_is_the_end_of_another(name: str) -> None:
    assert torn(RULES[name]) == []


def test_a_torn_one_is_seen() -> None:
    rule = RULES["japanese-maple/pinch-shoots"]
    cautions = ["Pinching weakens the tree", "leave it out for a year"]
    assert torn(rule.model_copy(update={"cautions": cautions})) == cautions[1:]
    avoid = ["cutting to the base", "which takes the flower buds"]
    assert torn(rule.model_copy(update={"forbids": avoid})) == avoid[1:]
