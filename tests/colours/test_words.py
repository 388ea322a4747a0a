"""What people say of a branch in one short text."""

import pytest

from care_planner.colours.branch_words import parse_branch_words, split_target
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.typed_yaml.models import Mistake

FORMS = read_rulebook(None, {"satsuki-azalea"})[0].taxa["satsuki-azalea"].forms
assert FORMS is not None


@pytest.mark.parametrize(
    ("name", "target"),
    [("t", ("t", "", None)), ("t/left-2", ("t", "left-2", None)), ("t/c7/12", ("t", "c7", 12))],
)
def test_targets(name: str, target: tuple[str, str, int | None]) -> None:
    assert split_target(name) == target


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ('flowers "white ground 12, striped 3"', {"flowers": {"white-ground": 12, "striped": 3}}),
        ("Flowers: 12 White Ground and about 3 stripes", {"flowers": {"white-ground": 12, "striped": 3}}),
        ("flowers half-and-half 2", {"flowers": {"heavily-striped": 2}}),
        ("flowers half-and-half 2 and solid 3", {"flowers": {"heavily-striped": 2, "solid": 3}}),
        ("flowers 2 half-and-half, 1 white-ground", {"flowers": {"heavily-striped": 2, "white-ground": 1}}),
        ("flowers solid 2, self 3", {"flowers": {"solid": 5}}),
        ("flowers white 4 in full sun", {"flowers": {"white-ground": 4}, "full_sun": True}),
        ("flowers white 4, in full sun photo p/A 1.jpg",
         {"flowers": {"white-ground": 4}, "full_sun": True, "photo": "p/A 1.jpg"}),
        ("grows from left-1", {"grows": {"from": "left-1"}}),
        ("grows from left-1 since 2024, low, inside",
         {"grows": {"from": "left-1", "since": "2024", "height": "low", "depth": "inside"}}),
        ("cut", {"lost": "cut"}),
        ("cut off", {"lost": "cut"}),
        ("dead", {"lost": "dead"}),
        ("cuttings c7 12", {"cuttings": {"batch": "c7", "count": 12}}),
    ],
)  # fmt: skip
def test_of_a_branch(what: str, said: dict[str, object]) -> None:
    assert parse_branch_words(what, "left-2", None, FORMS, is_batch=False) == {"branch": "left-2", **said}


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("rooted 0", {"young": "rooted", "count": 0}),
        ("rooted 9", {"young": "rooted", "count": 9}),
        ("given away 3", {"young": "given-away", "count": 3}),
        ("kept", {"young": "kept"}),
        ("flowers solid 1", {"flowers": {"solid": 1}}),
    ],
)
def test_of_a_batch(what: str, said: dict[str, object]) -> None:
    assert parse_branch_words(what, "c7", 2, FORMS, is_batch=True) == {"batch": "c7", "plant": 2, **said}


@pytest.mark.parametrize("what", ["first-flower", "open 40%", "looked at the flowers", "cutting back hard"])
def test_other_texts_are_left_to_others(what: str) -> None:
    assert parse_branch_words(what, "", None, FORMS, is_batch=False) is None


ONE_COUNT = "allowed: a form and about how many, such as striped 3"


@pytest.mark.parametrize(
    ("what", "message"),
    [
        ("flowers striped few", ("'striped few' needs one count, a number from 1 to 100000", ONE_COUNT)),
        ("flowers striped", ("'striped' needs one count, a number from 1 to 100000", ONE_COUNT)),
        ("flowers striped 0", ("'striped 0' needs one count, a number from 1 to 100000", ONE_COUNT)),
        ("flowers 3 striped 4", ("'3 striped 4' needs one count, a number from 1 to 100000", ONE_COUNT)),
        ("flowers stripped 3", ("unknown form of flower 'stripped'", "did you mean striped?")),
        ("grows left-1", ("'grows left-1' is not understood",
                          "allowed: grows from BRANCH, then since 2024, low, middle or high, inside or outside")),  # noqa: E501
        ("cuttings c7 many", ("'cuttings c7 many' is not understood", "allowed: cuttings BATCH and how many")),  # noqa: E501
        ("cut hard", ("'cut hard' is not understood", "allowed: cut; free text begins with: note")),
    ],
)  # fmt: skip
def test_mistakes(what: str, message: tuple[str, str]) -> None:
    found = parse_branch_words(what, "left-2", None, FORMS, is_batch=False)
    assert isinstance(found, Mistake) and (found.what, found.allowed) == message
