"""Every line of the work of a year is found in a pack, or named as left out with a reason; cautions stand at
the work that can hurt."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from planning import rulebook

from care_planner.rulebook.rule import Rule
from care_planner.typed_yaml.read_yaml import read_yaml

FILE = Path(__file__).with_name("work_of_a_year.yaml")
TAXA = sorted(rulebook().taxa)


def lines() -> dict[str, dict[str, Any]]:
    located, problems = read_yaml(FILE, FILE.name)
    assert located is not None, problems
    return dict(located.data)


@pytest.mark.parametrize("taxon", sorted(lines()))
def test_every_line_is_in_a_pack_or_left_out_with_a_reason(taxon: str) -> None:
    rules = rulebook().taxa[taxon].rules
    for line, said in lines()[taxon].items():
        if isinstance(said, dict):
            assert len(said["left_out"].split()) > 5, line
        else:
            assert said and set(said) <= set(rules), line


@pytest.mark.parametrize("taxon", sorted(lines()))
def test_every_rule_is_on_a_line(taxon: str) -> None:
    named = {id for said in lines()[taxon].values() if isinstance(said, list) for id in said}
    common = {id for said in lines()["satsuki-azalea"].values() if isinstance(said, list) for id in said}
    assert set(rulebook().taxa[taxon].rules) - named - common == set()


# Which cautions a work needs, by what it says.

REMOVES = re.compile(
    r"\b(take|takes|cut|shorten|prune|pinch|twist|break|rub|pick|snap)\b[^.]*"
    r"\b(flower|flowers|bud|buds|shoot|shoots|branch|branches|galls|crown|wood|rest)\b",
    re.IGNORECASE,
)
KINDS_THAT_REMOVE = ("pruning", "flowers", "cuttings", "health")
NOT_A_REMOVAL = {"no-shortening", "tag-colours", "bud-look", "rain-cover-in-bloom", "petal-blight-look"}


def missing(rule: Rule, azalea: bool) -> Iterator[str]:
    """The cautions that a rule should have and has not."""
    cautions = " ".join(rule.cautions).lower()
    text = f"{rule.title} {rule.what}"
    if rule.kind == "shelter" and re.search(r"\b(shelter|shed|unheated)\b", text, re.IGNORECASE):
        moves = any(effect.moves_to == "winter-bench" for effect in rule.effects)
        if (moves or rule.id in ("vent-shelter", "chill-count")) and "carbon monoxide" not in cautions:
            yield "carbon monoxide"
    removes = rule.kind in KINDS_THAT_REMOVE and rule.id not in NOT_A_REMOVAL and REMOVES.search(text)
    if azalea and removes and "poisonous" not in cautions:
        yield "poisonous"
    if rule.kind == "roots" and rule.id != "repot-aftercare":
        yield from (word for word in ("dust", "legionella") if word not in cautions)
    if rule.kind == "health" and "label" in cautions and "local law" not in cautions:
        yield "local law"
    if (
        rule.kind == "health"
        and re.search(r"\blook\b", rule.title, re.IGNORECASE)
        and "local law" not in cautions
    ):
        yield "local law at a look"
    said = " ".join((rule.what, *rule.needs)).lower()
    if re.search(r"\bacids?\b(?!,? (feed|open|soil))", said):
        yield "acid for water stands in what to do"


@pytest.mark.parametrize("taxon", TAXA)
def test_cautions_stand_at_the_work(taxon: str) -> None:
    rules = rulebook().taxa[taxon]
    azalea = rules.taxon.botanical.startswith("Rhododendron")
    found = {id: list(missing(rule, azalea)) for id, rule in rules.rules.items()}
    assert {id: words for id, words in found.items() if words} == {}


@pytest.mark.parametrize(
    ("id", "word"),
    [
        ("shelter", "carbon monoxide"),
        ("prune-after-bloom", "poisonous"),
        ("rub-buds-off", "poisonous"),
        ("repot", "legionella"),
        ("lace-bug-look", "local law"),
    ],
)
def test_a_caution_left_out_is_seen(id: str, word: str) -> None:
    rule = rulebook().taxa["satsuki-azalea"].rules[id]
    assert list(missing(rule, azalea=True)) == []
    bare = rule.model_copy(update={"cautions": [text for text in rule.cautions if word not in text.lower()]})
    assert any(word in found for found in missing(bare, azalea=True))


def test_acid_in_what_to_do_is_seen() -> None:
    rule = rulebook().taxa["satsuki-azalea"].rules["water-round"]
    planted = rule.model_copy(update={"what": "Add a little acid to the water."})
    assert list(missing(planted, azalea=True)) == ["acid for water stands in what to do"]
