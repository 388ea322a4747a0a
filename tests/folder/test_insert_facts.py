"""Facts are put into collection.yaml; everything else in the file stays as it was, letter for letter."""

import pytest

from care_planner.folder.insert_facts import NotInserted, with_facts

TEXT = """\
# mine
trees:   # all of them
  - {id: a, taxon: x, bench: open}   # the old one
  - {id: b, taxon: x,
     bench: open,
    }

  - id: c   # by the gate
    taxon: x
    bench: open
# the end
"""


@pytest.mark.parametrize(
    ("tree", "old", "new"),
    [
        ("a", "bench: open}   #", "bench: open, age: young, wired: yes}   #"),
        ("b", "bench: open,\n    }", "bench: open, age: young, wired: yes}"),
        ("c", "- id: c   # by the gate\n", "- id: c   # by the gate\n    age: young\n    wired: yes\n"),
    ],
)
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_only_the_trees_own_facts_change(tree: str, old: str, new: str, newline: str) -> None:
    text = TEXT.replace("\n", newline)
    changed = with_facts(text, tree, {"age": "young", "wired": "yes"})
    assert changed.replace("\r\n", "\n") == TEXT.replace(old, new)


def test_a_part_of_several_facts() -> None:
    changed = with_facts(TEXT, "a", {"last_repot": {"date": "2025-03-20"}})
    assert "bench: open, last_repot: {date: 2025-03-20}}   # the old one" in changed


def test_what_is_told_already_is_not_overwritten() -> None:
    with pytest.raises(NotInserted):
        with_facts(TEXT, "a", {"bench": "shed"})
    with pytest.raises(NotInserted):
        with_facts(TEXT, "nobody", {"age": "young"})
    with pytest.raises(NotInserted):
        with_facts("trees: [{id: a, id: b}]\n", "a", {"age": "young"})
