"""The ladder of forms: the trade's terms against a published glossary, and a pack's mistakes."""

import pytest

from care_planner.rulebook.forms import Forms
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.typed_yaml.read_yaml import parse_yaml, validate

# Azalea Society of America, glossary of azalea terms (azaleas.org): what each says of the flower.
GLOSSARY = {
    "akamuji": "solid red",
    "arare": "many large specks over all petals",
    "date": "white ground crowded with deep and light stripes of different widths",
    "daisho": "thick and thin stripes mixed",
}


@pytest.fixture(scope="module")
def satsuki() -> Forms:
    forms = read_rulebook(None, {"satsuki-azalea"})[0].taxa["satsuki-azalea"].forms
    assert forms is not None
    return forms


def test_reference_terms_of_the_glossary(satsuki: Forms) -> None:
    cited = {
        term.term: term.meaning
        for form in satsuki.ladder
        for term in form.japanese
        if term.source == "asa-glossary"
    }
    assert cited == GLOSSARY


def test_every_other_term_says_that_it_is_from_memory(satsuki: Forms) -> None:
    others = [term for form in satsuki.ladder for term in form.japanese if term.term not in GLOSSARY]
    assert others and all(term.source.startswith("from memory") for term in others)


def test_common_practice_the_order_from_white_ground_to_solid(satsuki: Forms) -> None:
    rungs = [
        satsuki.index(word) for word in ("white ground", "striped", "more colour", "white centre", "solid")
    ]
    assert rungs == sorted(rungs, key=lambda rung: -1 if rung is None else rung)
    assert (rungs[0], rungs[-1]) == (0, len(satsuki.ladder) - 1)
    assert "common practice, no source" in satsuki.source


@pytest.mark.parametrize(
    ("word", "id"),
    [("White-Ground", "white-ground"), ("white", "white-ground"), ("self", "solid"), ("pale self", "solid"),
     ("jiai", "solid"), ("white center", "white-centred"), ("margin", "margined"), ("Daisho", "striped")],
)  # fmt: skip
def test_words_for_a_form(satsuki: Forms, word: str, id: str) -> None:
    assert satsuki.ids[satsuki.index(word) or 0] == id


def test_a_word_with_two_meanings_and_a_ladder_too_short() -> None:
    text = "source: x\nladder:\n  - {id: pale, title: Pale}\n  - {id: dark, title: Dark, also: [pale]}\n"
    located, _ = parse_yaml(text, "p.yaml")
    assert located is not None
    assert [str(p) for p in validate(located, Forms)[1]] == [
        "p.yaml:4: 'pale' means both pale and dark; one form for each word"
    ]
    located, _ = parse_yaml("source: x\nladder:\n  - {id: pale, title: Pale}\n", "p.yaml")
    assert located is not None
    assert [str(p) for p in validate(located, Forms)[1]] == ["p.yaml:2: ladder has 1 item; allowed: 2 to 12"]
