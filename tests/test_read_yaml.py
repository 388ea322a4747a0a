"""YAML text to data with lines; models to problems with lines. Whole messages are asserted."""

from pathlib import Path
from typing import Annotated, Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import Field, model_validator

from care_planner.problems import Problem
from care_planner.typed_yaml.models import Day, Number, Season, Share, Slug, Text, Whole, YesNo
from care_planner.typed_yaml.read_yaml import LARGEST_BYTES, Strict, parse_yaml, read_yaml, validate


def messages(problems: list[Problem]) -> list[str]:
    return [str(problem) for problem in problems]


def test_every_scalar_stays_text() -> None:
    text = "a: 001\nb: no\nc: 2027-5-3\nd: 40%\ne: 1:30\nf: 1e3\ng: .nan\nh: 'null'\n"
    located, problems = parse_yaml(text, "f.yaml")
    assert problems == [] and located is not None
    assert located.data == {
        "a": "001",
        "b": "no",
        "c": "2027-5-3",
        "d": "40%",
        "e": "1:30",
        "f": "1e3",
        "g": ".nan",
        "h": "null",
    }


@pytest.mark.parametrize("nothing", ["", "~", "null"])
def test_nothing_after_a_colon_is_none(nothing: str) -> None:
    located, _ = parse_yaml(f"a: {nothing}\n", "f.yaml")
    assert located is not None and located.data == {"a": None}


def test_lines_of_keys_items_and_their_nearest_ancestor() -> None:
    located, _ = parse_yaml(
        "a:\n  - x\n  -\n    b: 1\n    c: {d: 2,\n      e: 3}\nf: |\n  one\n  two\n", "f.yaml"
    )
    assert located is not None
    places = [(), ("a",), ("a", 0), ("a", 1), ("a", 1, "b"), ("a", 1, "c", "e"), ("f",)]
    assert [located.line(place) for place in places] == [1, 1, 2, 4, 4, 6, 7]
    assert located.line(("a", 1, "c", "missing")) == 5
    assert located.line(("a", 7, "b")) == 1
    assert located.at(("a", 1, "c", "d")) == "2" and located.at(("a", 9)) is None


def test_two_equal_keys_name_both_lines_and_the_rest_is_still_read() -> None:
    located, problems = parse_yaml("a: 1\nb:\n  c: 1\n  c: {x: 1}\na: 2\nd: 3\n", "f.yaml")
    assert messages(problems) == [
        "f.yaml:4: key 'c' is given twice, first on line 3; keep one of them",
        "f.yaml:5: key 'a' is given twice, first on line 1; keep one of them",
    ]
    assert located is not None and located.data == {"a": "1", "b": {"c": "1"}, "d": "3"}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "f.yaml:1: the file holds nothing"),
        ("# only a comment\n", "f.yaml:1: the file holds nothing"),
        ("---\n...\n", "f.yaml:1: the file holds nothing"),
        ("a:\n\tb: 1\n", "f.yaml:2: a tab where spaces belong; indent with spaces"),
        ("a: 1\nb: @x\n", "f.yaml:2: text that starts with '@'; put it in quotes"),
        (
            "a: [1, 2\nb: 3\n",
            "f.yaml:2: a [ opened on line 1 is not closed, or a comma is missing; check brackets and commas",
        ),
        (
            "a: {b: 1\n",
            "f.yaml:2: a { opened on line 1 is not closed, or a comma is missing; check brackets and commas",
        ),
        ("a: 'it\nb: 1\n", "f.yaml:3: a quote opened on line 1 is not closed; close it with the same quote"),
        (
            "a: b: c\n",
            "f.yaml:1: a ':' where no key can stand; check the indentation, or put the text in quotes",
        ),
        (
            "a: 1\n b: 2\n",
            "f.yaml:2: a ':' where no key can stand; check the indentation, or put the text in quotes",
        ),
        (
            "- a\nb: c\n",
            "f.yaml:2: the indentation does not fit the lines above, or a ':' is missing; "
            "indent alike with spaces",
        ),
        ("a: &x 1\n", "f.yaml:1: anchor &x is not used here; write the text out where it is needed"),
        ("a: *x\n", "f.yaml:1: alias *x is not used here; write the text out"),
        ("<<: {a: 1}\n", "f.yaml:1: merge keys (<<) are not used here; write the keys out"),
        ("a: !!float 1\n", "f.yaml:1: tag 'tag:yaml.org,2002:float' is not used here; leave the tag out"),
        ("? [a]\n: 1\n", "f.yaml:1: a key that is itself a list or mapping; a key is plain text"),
        ("~: 1\n", "f.yaml:1: a key is missing before ':'; a key is plain text"),
        ("a: 1\n---\nb: 1\n", "f.yaml:2: a second document (---) in one file; use one a file"),
        ("a: 1\nb: \x00\n", "f.yaml:2: a control character or invisible separator (U+0000); take it out"),
        ("a: 1\n\ufeffb: 1\n", "f.yaml:2: a control character or invisible separator (U+FEFF); take it out"),
        ("a: \u2028\n", "f.yaml:1: a control character or invisible separator (U+2028); take it out"),
        ("a: \ud800\n", "f.yaml:1: a control character or invisible separator (U+D800); take it out"),
        ("[" * 40, "f.yaml:1: nested more than 32 levels deep"),
        ("- " * 5000, "f.yaml:1: nested more than 32 levels deep"),
        ("[" * 5000, "f.yaml:1: nested more than 32 levels deep"),
        ("%YAML 3.0\n---\na: 1\n", "f.yaml:1: broken YAML: found incompatible YAML document"),
    ],
)
def test_faults_of_notation(text: str, said: str) -> None:
    located, problems = parse_yaml(text, "f.yaml")
    assert located is None
    assert messages(problems) == [said]


def test_two_faults_of_notation_are_both_told() -> None:
    _, problems = parse_yaml("a: &x 1\nb: *x\n", "f.yaml")
    assert messages(problems) == [
        "f.yaml:1: anchor &x is not used here; write the text out where it is needed",
        "f.yaml:2: alias *x is not used here; write the text out",
    ]


def test_an_expansion_bomb_is_refused_after_a_hundred_faults() -> None:
    bomb = "a: &a [x]\n" + "".join(f"b{n}: [*a, *a, *a]\n" for n in range(1000))
    located, problems = parse_yaml(bomb, "f.yaml")
    assert located is None and len(problems) == 100


def test_a_file_of_comments_may_be_allowed() -> None:
    located, problems = parse_yaml("# nothing yet\n", "f.yaml", may_be_empty=True)
    assert problems == [] and located is not None and located.data is None


@given(st.text(alphabet=st.characters(exclude_categories=[]), max_size=60))
def test_no_text_raises(text: str) -> None:
    located, problems = parse_yaml(text, "f.yaml")
    assert (located is None) <= bool(problems)


@given(
    st.lists(
        st.sampled_from([*"ab: -[]{}\n\t'\"#&*!|>%@?,~<0", "\r\n", "  ", "- ", ": ", "---\n"]),
        max_size=40,
    )
)
def test_no_yaml_like_text_raises(parts: list[str]) -> None:
    located, problems = parse_yaml("".join(parts), "f.yaml")
    assert (located is None) <= bool(problems)


@given(
    st.dictionaries(
        st.text("abc", min_size=1), st.lists(st.text("xyz01", min_size=1), max_size=3), max_size=4
    )
)
def test_what_was_written_is_read_back(data: dict[str, list[str]]) -> None:
    text = "".join(f"'{key}': [{', '.join(map(repr, items))}]\n" for key, items in data.items()) or "{}"
    located, problems = parse_yaml(text, "f.yaml")
    assert problems == [] and located is not None and located.data == data
    assert [located.line((key,)) for key in data] == list(range(1, len(data) + 1))


def on_disk(folder: Path, raw: bytes) -> list[str]:
    (folder / "f.yaml").write_bytes(raw)
    return messages(read_yaml(folder / "f.yaml", "f.yaml")[1])


def test_bytes_that_are_no_utf8_text(tmp_path: Path) -> None:
    assert on_disk(tmp_path, b"a: 1\nb: \xe9\n") == ["f.yaml:2: the text is not UTF-8; save it as UTF-8"]
    assert on_disk(tmp_path, "a: 1\n".encode("utf-16")) == ["f.yaml:1: the text is UTF-16; save it as UTF-8"]
    assert on_disk(tmp_path, b"\xef\xbb\xbfa: 1\r\n") == []


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    assert messages(read_yaml(tmp_path / "no.yaml", "no.yaml")[1]) == ["no.yaml: no such file"]
    assert messages(read_yaml(tmp_path, "here")[1]) == ["here: not a file"]
    assert on_disk(tmp_path, b"#" * (LARGEST_BYTES + 1)) == ["f.yaml: too large; allowed: 16 MB at most"]


class Leaf(Strict):
    share: Share | None = None
    when: Day | None = None
    flag: YesNo = False
    count: Whole = Field(default=1, ge=1)
    degrees: Number | None = Field(default=None, gt=-40, le=15)
    plain: float | None = None


class AtStage(Strict):
    stage: Slug
    plus_days: Whole = 0


class AtShare(Strict):
    share_open: Share
    plus_days: Whole = 0


class Held(Strict):
    days: Whole
    at_least_c: Annotated[float, Field(ge=-50, le=60)]


class Earliest(Strict):
    earliest: tuple["AtStage | AtShare | Held", ...] = Field(min_length=1)


class Root(Strict):
    name: Text = "x"
    leaves: tuple[Leaf, ...] = ()
    opens: AtStage | AtShare | Held | Earliest | None = None
    goal: Literal["flowers", "vigour"] | dict[Season, Literal["flowers", "vigour"]] = "flowers"
    by_name: dict[Slug, Leaf] = Field(default_factory=dict)
    low: Number = 0
    high: Number = 1

    @model_validator(mode="after")
    def _ordered(self) -> "Root":
        if self.low > self.high:
            raise ValueError("low is above high; allowed: low at or below high")
        return self


def check(text: str) -> list[str]:
    located, problems = parse_yaml(text, "f.yaml")
    assert located is not None and problems == []
    return messages(validate(located, Root)[1])


def leaf(text: str) -> Leaf:
    located, _ = parse_yaml(f"leaves: [{{{text}}}]", "f.yaml")
    assert located is not None
    root, problems = validate(located, Root)
    assert root is not None, messages(problems)
    return root.leaves[0]


def test_types_come_from_the_model() -> None:
    one = leaf("share: 40%, when: 2027-5-3, flag: no, count: +3, degrees: -2.0")
    assert (one.share, str(one.when), one.flag, one.count, one.degrees) == (0.4, "2027-05-03", False, 3, -2.0)
    assert leaf("flag: Yes, share: 0.25, degrees: 1e1").model_dump(exclude_unset=True) == {
        "flag": True,
        "share": 0.25,
        "degrees": 10.0,
    }


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("degrees: 1_0", "degrees is '1_0', not a number; allowed: more than -40, up to 15"),
        ("degrees: nan", "degrees is 'nan', not a number; allowed: more than -40, up to 15"),
        ("degrees: 1e999", "degrees is '1e999', not a number; allowed: more than -40, up to 15"),
        ("degrees: '2,5'", "degrees is '2,5', not a number; write 2.5"),
        ("degrees: \u22122", "degrees is '\u22122', not a number; write -2"),
        ("degrees: -40", "degrees is '-40'; allowed: more than -40, up to 15"),
        ("degrees: [1]", "degrees is a list, not a number; allowed: more than -40, up to 15"),
        ("plain: abc", "plain is 'abc', not a number"),
        ("plain: .inf", "plain is '.inf', not a number"),
        ("count: 2.5", "count is '2.5', not a whole number; allowed: 1 or more"),
        ("count: 0", "count is '0'; allowed: 1 or more"),
        ("count: ", "count is empty; allowed: 1 or more"),
        ("share: 140%", "share is '140%'; allowed: 0 to 1, or 0% to 100%"),
        ("share: x%", "share is 'x%', not a number; allowed: 0 to 1, or 0% to 100%"),
        (
            "when: 2027-02-30",
            "when is '2027-02-30', a day that does not exist; allowed: a date such as 2027-03-01",
        ),
        ("when: 20270301", "when is '20270301', not a date; allowed: a date such as 2027-03-01"),
        (
            "when: 0027-03-01",
            "when is '0027-03-01', a year outside 1800 to 2199; allowed: a date such as 2027-03-01",
        ),
        ("flag: maybe", "flag is 'maybe'; allowed: true, false"),
        ("flga: true", "unknown key 'flga'; did you mean flag?"),
        ("flag:true", "unknown key 'flag:true'; put a space after the colon"),
        ("zzz: 1", "unknown key 'zzz'; allowed: count, degrees, flag, plain, share, when"),
    ],
)
def test_one_mistake_in_a_list_item(text: str, said: str) -> None:
    assert check(f"leaves:\n  - {{}}\n  - {{{text}}}\n") == [f"f.yaml:3: {said}"]


def test_each_item_shows_all_its_mistakes() -> None:
    assert check("leaves:\n  - {count: x, flag: y}\n  - word\n  - {share: 2}\n  - count:3\n") == [
        "f.yaml:2: count is 'x', not a whole number; allowed: 1 or more",
        "f.yaml:2: flag is 'y'; allowed: true, false",
        "f.yaml:3: leaves item 2 is 'word', not a mapping; "
        "allowed: a mapping with share, when, flag, count, degrees, plain",
        "f.yaml:4: share is '2'; allowed: 0 to 1, or 0% to 100%",
        "f.yaml:5: leaves item 4 is 'count:3', not a mapping; put a space after the colon",
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{stage: Bad Name}", "opens.stage is 'Bad Name'; allowed: a name of a-z, 0-9 and hyphens, "
         "starting with a letter or digit, 64 characters at most"),
        ("{share_open: 3, plus_days: 2}", "opens.share_open is '3'; allowed: 0 to 1, or 0% to 100%"),
        ("{stage: a, plus_dayz: 3}", "unknown key 'plus_dayz'; did you mean plus_days?"),
        ("{stgae: a}", "unknown key 'stgae'; did you mean stage?"),
        ("{days: 3}", "opens.at_least_c is missing; needed: -50 to 60"),
        ("{days: 3, at_least_c: 99}", "opens.at_least_c is '99'; allowed: -50 to 60"),
        ("{earliest: [{stage: a}, {share_open: x}]}",
         "share_open is 'x', not a number; allowed: 0 to 1, or 0% to 100%"),
        ("{earliest: []}", "opens.earliest is an empty list; allowed: at least 1"),
        ("{}", "opens is an empty mapping; "
         "allowed: a mapping with stage, plus_days or a mapping with share_open, plus_days or a mapping with "
         "days, at_least_c or a mapping with earliest"),
    ],
)  # fmt: skip
def test_of_a_union_only_the_arm_that_fits_best_is_told(text: str, said: str) -> None:
    assert check(f"name: a\nopens: {text}\n") == [f"f.yaml:2: {said}"]


def test_a_union_of_words_and_a_mapping() -> None:
    assert check("goal: vigor\n") == ["f.yaml:1: goal is 'vigor'; did you mean vigour?"]
    assert check("goal:\n  2027: flowers\n  2028: vigor\n  '28': vigour\n") == [
        "f.yaml:3: goal.2028 is 'vigor'; did you mean vigour?",
        "f.yaml:4: '28' cannot be a key of goal; allowed: the year in which its spring starts, such as 2027",
    ]
    assert check("goal: [a]\n") == [
        "f.yaml:1: goal is a list; allowed: flowers, vigour or a mapping (key: value)"
    ]


def test_mistakes_below_a_name() -> None:
    assert check("by_name:\n  shed: {count: x}\n  A/B: {}\n") == [
        "f.yaml:2: by_name.shed.count is 'x', not a whole number; allowed: 1 or more",
        "f.yaml:3: 'A/B' cannot be a key of by_name; allowed: a name of a-z, 0-9 and hyphens, "
        "starting with a letter or digit, 64 characters at most",
    ]


def test_a_validator_of_a_whole_mapping_speaks_for_itself() -> None:
    assert check("low: 3\n") == ["f.yaml:1: low is above high; allowed: low at or below high"]


def test_text_is_one_line_and_cut_in_messages() -> None:
    assert check('name: "a\\nb"\n') == [
        "f.yaml:1: name is 'a\\nb', with a line break or control character; allowed: text on one line"
    ]
    assert check(f"name: {'x' * 201}\n") == ["f.yaml:1: name has 201 characters; allowed: 1 to 200"]
    assert check(f"low: {'x' * 99}\n") == [f"f.yaml:1: low is '{'x' * 60}...', not a number"]


def test_a_file_that_is_no_mapping() -> None:
    assert check("just text\n") == [
        "f.yaml:1: the file is 'just text', not a mapping; "
        "allowed: a mapping with name, leaves, opens, goal, by_name, low, high"
    ]


@given(st.text("abc:[]{}, 0-\n#'", max_size=30))
def test_no_data_raises_in_the_check(text: str) -> None:
    located, _ = parse_yaml(text, "f.yaml")
    if located is not None:
        model, problems = validate(located, Root)
        assert (model is None) == bool(problems)
