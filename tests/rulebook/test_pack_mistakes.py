"""What is wrong in a pack is said with file and line, what is allowed beside it, all of it at once."""

from pathlib import Path

import pytest
from pack_files import BASE, edited, ends, line_of, read
from small_world import rule

STAGES = (
    "bud-swell, dormancy-broken, end-of-bloom, end-of-growth, first-flower, flower-bud-set, half-open, rest"
)
CURVE = BASE[BASE.index("  bloom_curve:") : BASE.index("stages:")]
FLUSH = BASE[BASE.index("  - id: flush\n") : BASE.index("  - {id: end-of-growth")]
LAST = len(BASE.splitlines())
OPENS, CLOSES = LAST - 1, LAST
FLUSH_LINE = line_of(BASE, "- id: flush")
WAITS = "each stage and work waits only for what comes before it"


def added(text: str) -> str:
    """The base with more lines in its last rule."""
    return BASE + "".join(f"    {line}\n" for line in text.splitlines())


MISTAKES = {
    # Unknown names.
    "stage of a stage": (
        edited("sum: 250}, since: {stage: bud-swell}", "sum: 250}, since: {stage: bud-swel}"),
        f"{line_of(BASE, 'sum: 250')}: stage first-flower: unknown stage 'bud-swel'; did you mean bud-swell?",
    ),
    "work of a stage": (
        edited("reached: {held: {at_most_c: 13, days: 5}}", "reached: {work: frist}"),
        f"{line_of(BASE, 'id: end-of-growth')}: stage end-of-growth: unknown work 'frist'; did you mean "
        f"first?",
    ),
    "stage of the curve": (
        edited("    since: first-flower\n", "    since: fist-flower\n"),
        f"{line_of(BASE, '    since: first-flower')}: unknown stage 'fist-flower'; did you mean "
        f"first-flower?",
    ),
    "work of a moment": (
        ends("opens: {work: frist}\ncloses: {stage: rest}"),
        f"{OPENS}: rule second: unknown work 'frist'; did you mean first?",
    ),
    "sign of a moment": (
        ends("opens: {sign: gals}\ncloses: {stage: rest}"),
        f"{OPENS}: rule second: unknown sign 'gals'; did you mean galls?",
    ),
    "stage inside a moment": (
        ends("opens: {stage: flush}\ncloses: {earliest: [{stage: rest}, {stage: rst}]}"),
        f"{CLOSES}: rule second: unknown stage 'rst'; did you mean rest?",
    ),
    "after": (
        added("after: [{work: frist}]"),
        f"{LAST + 1}: rule second: unknown work 'frist'; did you mean first?",
    ),
    "rest": (
        added("rests: [{after: [frist], days: 3}]"),
        f"{LAST + 1}: rule second: unknown work 'frist'; did you mean first?",
    ),
    "blocks": (
        added("blocks: [frist]"),
        f"{LAST + 1}: rule second: unknown work 'frist'; did you mean first?",
    ),
    "unless": (
        added("unless: [{work: [frist]}]"),
        f"{LAST + 1}: rule second: unknown work 'frist'; did you mean first?",
    ),
    "noted": (
        added("only: {noted: [gals]}"),
        f"{LAST + 1}: rule second: unknown sign 'gals'; did you mean galls?",
    ),
    "effect": (
        added("effects: [{ends_stage: rst}]"),
        f"{LAST + 1}: rule second: unknown stage 'rst'; did you mean rest?",
    ),
    "effect on several": (
        added("effects: [{sets_back: {stages: [rst], days: 3}}]"),
        f"{LAST + 1}: rule second: unknown stage 'rst'; did you mean rest?",
    ),
    "effect of a choice": (
        added("no_room: [{goal: [vigour], says: a, costs: b, effects: [{ends_stage: rst}]}]"),
        f"{LAST + 1}: rule second: unknown stage 'rst'; did you mean rest?",
    ),
    "case": (
        added("cases: [{only: {goal: [vigour]}, opens: {stage: rst}}]"),
        f"{LAST + 1}: rule second: unknown stage 'rst'; did you mean rest?",
    ),
    "look": (
        added("look: {stage: rst, note: x}"),
        f"{LAST + 1}: rule second: unknown stage 'rst'; did you mean rest?",
    ),
    "risk": (
        added("choose: {latest_within_risk: frst}"),
        f"{LAST + 1}: rule second: unknown risk 'frst'; did you mean frost?",
    ),
    "base": (
        edited("signs: [galls]\n", "signs: [galls]\nstands_on: [flowering-tre]\n"),
        "5: unknown pack 'flowering-tre'; did you mean flowering-tree?",
    ),
    # What is missing, and what stands there twice.
    "a share without a curve": (
        edited(CURVE, ""),
        "18: stage half-open: a share open, but the taxon has no bloom_curve; give the taxon a bloom_curve",
    ),
    "a second id": (
        BASE + rule("first", "opens: {stage: flush}\ncloses: {stage: rest}"),
        f"{LAST + 1}: rule 'first' stands here a second time, first on line "
        f"{line_of(BASE, '  - id: first')}; "
        "one of each id in a pack",
    ),
    # Windows that cannot open, and what contradicts itself.
    "an end of itself": (
        ends("opens: {of: opens}\ncloses: {stage: rest}"),
        f"{OPENS}: rule second: 'opens' is said to hang on itself; allowed: of: closes",
    ),
    "ends of each other": (
        ends("opens: {of: closes}\ncloses: {of: opens}"),
        f"{OPENS}: rule second: opens hangs on closes and closes on opens; one of them needs a moment "
        f"of its own",
    ),
    "ends of each other, deep inside": (
        ends(
            "opens: {earliest: [{of: closes}, {stage: flush}]}\ncloses: "
            "{latest: [{of: opens}, {stage: rest}]}"
        ),
        f"{OPENS}: rule second: opens hangs on closes and closes on opens; one of them needs a moment "
        f"of its own",
    ),
    "ends of each other in a case": (
        ends("opens: {of: closes, plus_days: -9}\ncloses: {stage: rest}")
        + "    cases: [{only: {goal: [vigour]}, closes: {of: opens}}]\n",
        f"{LAST + 1}: rule second: opens hangs on closes and closes on opens; one of them needs a "
        f"moment of its own",
    ),
    "an end of a stage": (
        edited("reached: {held: {at_most_c: 13, days: 5}}", "reached: {of: opens}"),
        f"{line_of(BASE, 'id: end-of-growth')}: stage end-of-growth: 'of' is for the two ends of a "
        f"work's window; "
        "a stage has no window",
    ),
    "closed before open": (
        edited("closes: {stage: flush, plus_days: 20}", "closes: {stage: flush, plus_days: -1}"),
        f"{line_of(BASE, 'closes: {stage: flush')}: rule first: it closes before it opens; "
        "closes must not lie before opens",
    ),
    "a smaller share at the close": (
        ends("opens: {share_open: 0.5}\ncloses: {share_open: 0.33}"),
        f"{CLOSES}: rule second: it closes at 0.33 open, before it opens at 0.5; closes at or after opens",
    ),
    "closed before its opening": (
        ends("opens: {stage: flush}\ncloses: {of: opens, plus_days: -1}"),
        f"{CLOSES}: rule second: it closes before it opens; plus_days of 0 or more",
    ),
    "open after its close": (
        ends("opens: {of: closes, plus_days: 1}\ncloses: {stage: rest}"),
        f"{OPENS}: rule second: it opens after it closes; plus_days of 0 or less",
    ),
    "for nobody": (
        added("only: {goal: [vigour]}\nunless: [{goal: [vigour, balanced]}]"),
        f"{LAST + 2}: rule second: 'only' asks for the goal that 'unless' forbids; it can never fire",
    ),
    "a date that does not exist": (
        ends("opens: {month_day: '02-30'}\ncloses: {stage: rest}"),
        f"{OPENS}: opens.month_day is '02-30', no month-day; allowed: a month and a day in quotes, "
        'such as "05-20"',
    ),
    # Circles.
    "stages in a circle": (
        edited("since: {stage: dormancy-broken}", "since: {stage: flush}"),
        f"{FLUSH_LINE}: a circle: flush waits for bud-swell waits for flush; {WAITS}",
    ),
    "works in a circle": (
        ends("opens: {work: first}\ncloses: {of: opens, plus_days: 3}").replace(
            "    opens: {stage: flush}\n    closes: {stage: flush, plus_days: 20}",
            "    opens: {work: second}\n    closes: {of: opens, plus_days: 3}",
        ),
        f"{line_of(BASE, '- id: second')}: a circle: second waits for first waits for second; {WAITS}",
    ),
    "a work and a stage in a circle": (
        ends("opens: {stage: flush}\ncloses: {stage: rest}") + "    effects: [{ends_stage: bud-swell}]\n",
        None,
    ),
}


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_is_said_with_its_line(name: str, tmp_path: Path) -> None:
    text, message = MISTAKES[name]
    rulebook, problems = read(tmp_path, text)
    if message is None:
        assert len(problems) == 1 and "a circle: " in problems[0], problems
    else:
        assert problems == [f"rules/flowering-tree.yaml:{message}"]
    assert not rulebook.taxa  # a taxon with mistakes is not planned


def test_the_base_has_no_mistake(tmp_path: Path) -> None:
    rulebook, problems = read(tmp_path)
    assert problems == []
    assert list(rulebook.taxa["flowering-tree"].rules) == ["first", "second"]


def test_several_mistakes_are_said_together(tmp_path: Path) -> None:
    _, problems = read(tmp_path, added("look: {stage: rst, note: x}\nblocks: [frist]"))
    assert problems == [
        f"rules/flowering-tree.yaml:{LAST + 1}: rule second: unknown stage 'rst'; did you mean rest?",
        f"rules/flowering-tree.yaml:{LAST + 2}: rule second: unknown work 'frist'; did you mean first?",
    ]


def test_every_taxon_has_the_common_stages(tmp_path: Path) -> None:
    _, problems = read(tmp_path, edited(FLUSH, ""))
    assert problems[0] == (
        f"rules/flowering-tree.yaml:{line_of(BASE, 'stages:')}: the taxon lacks the stages flush; every "
        f"taxon has them"
    )
    assert any(problem.endswith(f"unknown stage 'flush'; allowed: {STAGES}") for problem in problems)


def test_work_that_moves_the_tree_waits_for_no_stage(tmp_path: Path) -> None:
    """Every stage feels the bench it was moved to: it would be a circle."""
    _, problems = read(tmp_path, added("effects: [{moves_to: bench}]"))
    assert problems == [
        f"rules/flowering-tree.yaml:{line}: rule second: a work that moves the tree waits for its "
        f"stage, which "
        "feels the bench; allowed: held, first_night, last_night, day_length, month_day, work, "
        "earliest, latest, of"
        for line in (OPENS, CLOSES)
    ]


def test_an_unknown_key_and_broken_yaml(tmp_path: Path) -> None:
    _, problems = read(tmp_path, edited("      latest:\n", "      lastest:\n"))
    assert f"rules/flowering-tree.yaml:{line_of(BASE, '      latest:')}: " in " ".join(problems)
    assert "did you mean latest?" in " ".join(problems)
    _, problems = read(tmp_path, "pack: [\n")
    assert problems[0].startswith("rules/flowering-tree.yaml:2: broken YAML: ")


@pytest.mark.parametrize(
    ("said", "what"),
    [
        ("{stage: flush, work: first}", "a moment is of exactly one kind, this one says stage and work"),
        ("{plus_days: 3}", "a moment is of exactly one kind, this one says none"),
        (
            "{stage: flush, since: {stage: rest}}",
            "'since' goes with warmth, chill, held, day_length, not with stage",
        ),
        ("{warmth: {by: {method: average, base_c: 5}, sum: 9}}", "warmth needs 'since'"),
        ("{day_length: {at_most_h: 12}, season: next}", "'season' goes with stage, share_open, work"),
        ("{day_length: {at_most_h: 12, at_least_h: 9}}", "give one of at_least_h and at_most_h"),
        ("{held: {days: 3}}", "give one of at_least_c and at_most_c"),
        (
            "{since: {stage: rest}, warmth: {by: {method: sigmoid, midpoint_c: 9}, sum: 9}}",
            "a sigmoid needs midpoint_c and slope_per_c",
        ),
        (
            "{since: {stage: rest}, warmth: {by: {method: average, base_c: 9, upper_c: 9}, sum: 9}}",
            "upper_c must lie above base_c",
        ),
        (
            "{since: {stage: rest}, chill: {by: {method: hours, low_c: 9}, sum: 9}}",
            "chill in hours needs low_c and high_c",
        ),
        (
            "{since: {stage: rest}, chill: {by: {method: utah, low_c: 9}, sum: 9}}",
            "utah chill has weights of its own; it takes no low_c or high_c",
        ),
    ],
)
def test_a_moment_that_says_too_much_or_too_little(said: str, what: str, tmp_path: Path) -> None:
    _, problems = read(tmp_path, ends(f"opens: {said}\ncloses: {{stage: rest}}"))
    assert len(problems) == 1 and problems[0].startswith(f"rules/flowering-tree.yaml:{OPENS}: "), problems
    assert what in problems[0]
