"""A grower's own rules: whole packs, and changes laid over ours key by key."""

from pathlib import Path

from pack_files import BASE, read
from small_world import rule

OVER = "lays_over: flowering-tree\n"
NEW = rule("third", "opens: {stage: flush}\ncloses: {stage: rest}")


def test_a_change_replaces_the_keys_it_names_and_no_other(tmp_path: Path) -> None:
    rulebook, problems = read(tmp_path, mine=OVER + "rules:\n  - {id: first, choose: early, title: Mine}\n")
    assert problems == []
    taxon = rulebook.taxa["flowering-tree"]
    changed = taxon.rules["first"]
    assert (changed.choose, changed.title, changed.what) == ("early", "Mine", "Do it.")
    assert changed.closes.plus_days == 20
    origin = taxon.origins["first"]
    assert (origin.pack, origin.changed_by) == ("flowering-tree", "rules/mine.yaml")
    assert taxon.origins["second"].changed_by is None


def test_a_new_rule_is_whole(tmp_path: Path) -> None:
    rulebook, problems = read(tmp_path, mine=OVER + "rules:\n" + NEW)
    assert problems == []
    assert list(rulebook.taxa["flowering-tree"].rules) == ["first", "second", "third"]
    _, problems = read(tmp_path, mine=OVER + "rules:\n  - {id: fourth, choose: early}\n")
    assert "rules/mine.yaml:3: what is missing; needed: text" in problems


def test_a_removed_rule_never_comes_and_may_still_be_named(tmp_path: Path) -> None:
    named = BASE + "    after: [{work: first}]\n"
    rulebook, problems = read(tmp_path, named, mine=OVER + "remove: [first]\n")
    assert problems == []
    assert list(rulebook.taxa["flowering-tree"].rules) == ["second"]
    assert not [node for node in rulebook.taxa["flowering-tree"].order if node.id == "first"]


def test_two_files_change_different_keys(tmp_path: Path) -> None:
    one, two = (OVER + f"rules:\n  - {{id: first, {said}}}\n" for said in ("choose: early", "title: Mine"))
    rulebook, problems = read(tmp_path, a=one, b=two)
    assert problems == []
    changed = rulebook.taxa["flowering-tree"].rules["first"]
    assert (changed.choose, changed.title) == ("early", "Mine")


def test_two_changes_of_one_key_are_a_mistake_whatever_the_files_are_called(tmp_path: Path) -> None:
    one, two = (OVER + f"rules:\n  - {{id: first, choose: {said}}}\n" for said in ("early", "late"))
    _, problems = read(tmp_path, a=one, b=two)
    said = "rule first: choose is changed a second time, first on rules/a.yaml:3; one change for each key of a rule"  # noqa: E501
    assert problems == [f"rules/b.yaml:3: {said}"]
    both = OVER + "rules:\n  - {id: first, choose: late}\n  - {id: first, choose: late}\n"
    (tmp_path / "rules" / "b.yaml").unlink()
    _, problems = read(tmp_path, a=both)
    assert problems == [f"rules/a.yaml:4: {said}"]


def test_mistakes_in_changes(tmp_path: Path) -> None:
    own = {
        "a": "lays_over: flowering-tre\nrules: []\n",
        "b": OVER + "remove: [frist]\n",
        "c": OVER + "rules:\n  - id: first\n    choose: earli\n",
        "d": OVER + "rules:\n  - id: second\n    closes: {stage: flush, plus_days: -3}\n",
        "e": OVER + "rules: [first]\n",
    }
    _, problems = read(tmp_path, **own)
    assert problems == [
        "rules/a.yaml:1: unknown pack 'flowering-tre'; did you mean flowering-tree?",
        "rules/b.yaml:2: unknown work 'frist'; did you mean first?",
        "rules/c.yaml:4: choose is 'earli'; did you mean early?",
        "rules/d.yaml:4: rule second: it closes before it opens; closes must not lie before opens",
        "rules/e.yaml:2: rules item 1 is 'first', not a mapping; allowed: a mapping (key: value)",
    ]


def test_a_second_pack_of_the_same_name(tmp_path: Path) -> None:
    own = BASE.replace("pack: flowering-tree", "pack: own-tree")
    _, problems = read(tmp_path, a=own, b=own)
    assert problems == ["rules/b.yaml:1: a second pack 'own-tree'; one file for each pack"]


def test_a_pack_of_one_s_own_takes_the_place_of_ours(tmp_path: Path) -> None:
    rulebook, problems = read(tmp_path, mine=BASE.replace("title: Plain tree", "title: My tree"))
    assert problems == []
    assert rulebook.taxa["flowering-tree"].title == "My tree"
    assert rulebook.taxa["flowering-tree"].origins["first"].file == "rules/mine.yaml"


def test_packs_stand_on_one_another_and_the_nearer_rule_wins(tmp_path: Path) -> None:
    base = (
        "pack: base\ntitle: Base\nabout: For all.\nsigns: [rot]\nrules:\n"
        + rule("first", "opens: {sign: rot}\ncloses: {stage: rest}", title="Base's first")
        + rule("zeroth", "opens: {sign: rot}\ncloses: {stage: rest}")
    )
    top = BASE.replace("signs: [galls]\n", "signs: [galls]\nstands_on: [base]\n")
    rulebook, problems = read(tmp_path, top, base=base)
    assert problems == []
    taxon = rulebook.taxa["flowering-tree"]
    assert (taxon.rules["first"].title, taxon.origins["first"].pack) == ("First", "flowering-tree")
    assert taxon.origins["zeroth"].pack == "base"
    assert taxon.signs == {"galls", "rot"}


def test_an_empty_file_and_no_folder_are_no_mistakes(tmp_path: Path) -> None:
    rulebook, problems = read(tmp_path, mine="# nothing yet\n")
    assert problems == [] and list(rulebook.taxa) == ["flowering-tree"]


def test_the_order_in_which_works_are_listed_decides_nothing(tmp_path: Path) -> None:
    one, _ = read(tmp_path)
    parts = BASE.split("  - id: second\n")
    head, first = parts[0].split("  - id: first\n")
    other, problems = read(tmp_path, f"{head}  - id: second\n{parts[1]}  - id: first\n{first}")
    assert problems == []
    assert list(other.taxa["flowering-tree"].rules) == ["second", "first"]
    assert one.taxa["flowering-tree"].order == other.taxa["flowering-tree"].order
