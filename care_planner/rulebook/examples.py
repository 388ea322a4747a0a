"""The examples that packs carry, named: what each says its rule does."""

from care_planner.rulebook.rule import Example, Rule


def example_words(rule: Rule, number: int, example: Example) -> str:
    """How an example is named in messages."""
    given = example.tree.model_dump(exclude_defaults=True)
    facts = ", ".join(f"{key} {value}" for key, value in given.items()) or "an ordinary tree"
    return f"{rule.id}, example {number}: {facts}"
