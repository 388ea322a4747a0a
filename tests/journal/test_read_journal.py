"""Journal files: every form of entry, copies, take-backs, and the whole text of messages."""

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from care_planner.journal.model import Entry, Saw
from care_planner.journal.read_journal import read_journal

SLUG = "a name of a-z, 0-9 and hyphens, starting with a letter or digit, 64 characters at most"


def put(folder: Path, **files: str) -> Path:
    (folder / "journal").mkdir(exist_ok=True)
    for name, text in files.items():
        (folder / "journal" / f"{name}.yaml").write_text(text, encoding="utf-8")
    return folder


def entries(folder: Path, **files: str) -> list[Entry]:
    found, problems = read_journal(put(folder, **files))
    assert problems == []
    return found


def complaints(folder: Path, **files: str) -> list[str]:
    return [str(problem) for problem in read_journal(put(folder, **files))[1]]


def said(found: list[Entry]) -> list[tuple[object, ...]]:
    """What entries say, without where they stand."""
    return [(e.date, e.tree, e.saw, e.did, e.skipped, e.moved_to, e.condition, e.note, e.id) for e in found]


@pytest.mark.parametrize(
    ("text", "saw"),
    [
        ("first-flower", Saw(stage="first-flower")),
        ("{open: 0.4}", Saw(share_open=0.4)),
        ("{open: 40%}", Saw(share_open=0.4)),
        ("not-yet", Saw(not_yet=True)),
        ("{not-yet: first-flower}", Saw(stage="first-flower", not_yet=True)),
        ("60", Saw(bbch=60)),
        ("09", Saw(bbch=9)),
    ],
)
def test_forms_of_what_was_seen(tmp_path: Path, text: str, saw: Saw) -> None:
    (found,) = entries(tmp_path, a=f"- {{date: 2027-5-24, tree: sats-01, saw: {text}}}\n")
    assert (found.saw, found.tree, found.day) == (saw, "sats-01", date(2027, 5, 24).toordinal())


def test_other_entries_with_their_place(tmp_path: Path) -> None:
    found = entries(
        tmp_path,
        a="""\
# notes
- {date: 2027-03-01, tree: a, did: repot, note: "late: 'x' <b>"}
- {date: 2027-03-02, tree: a, skipped: prune-after-bloom, id: n-2}
- {date: 2027-03-03, tree: a, moved_to: shed}
- {date: 2027-03-04, tree: a, condition: weak}
- date: 2027-03-05
  tree: a
  note: |
    two
    lines
""",
    )
    assert [(e.file, e.line) for e in found] == [("journal/a.yaml", line) for line in (2, 3, 4, 5, 6)]
    assert [e.did or e.skipped or e.moved_to or e.condition for e in found] == [
        "repot",
        "prune-after-bloom",
        "shed",
        "weak",
        "",
    ]
    assert (found[0].note, found[1].id, found[4].note) == ("late: 'x' <b>", "n-2", "two\nlines")


def test_an_entry_about_several_trees_is_one_for_each(tmp_path: Path) -> None:
    found = entries(tmp_path, a="- {date: 2027-05-24, tree: [b, a, b], saw: first-flower}\n")
    assert [e.tree for e in found] == ["a", "b"]


def test_a_copy_of_a_file_counts_once(tmp_path: Path) -> None:
    text = (
        "- {date: 2027-05-24, tree: a, saw: first-flower, id: x}\n- {date: 2027-05-25, tree: b, did: repot}\n"
    )
    once = entries(tmp_path, a=text)
    assert len(once) == 2
    assert said(
        entries(tmp_path, **{"a (conflict copy)": text + "- {date: 2027-05-26, tree: b, note: new}\n"})
    ) == [
        *said(once),
        (date(2027, 5, 26), "b", None, "", "", "", "", "new", ""),
    ]


@given(st.permutations(range(5)), st.integers(0, 5))
def test_order_and_files_change_nothing(
    tmp_path_factory: pytest.TempPathFactory, order: list[int], cut: int
) -> None:
    lines = [
        "- {date: 2027-05-24, tree: a, saw: first-flower}\n",
        "- {date: 2027-05-24, tree: a, saw: {open: 0.1}}\n",
        "- {date: 2027-05-24, tree: a, did: repot}\n",
        "- {date: 2027-05-20, tree: b, note: x, id: n}\n",
        "- {date: 2027-05-30, takes_back: n}\n",
    ]
    mixed = [lines[n] for n in order]
    one, two = tmp_path_factory.mktemp("one"), tmp_path_factory.mktemp("two")
    plain = entries(one, a="".join(lines))
    assert said(entries(two, z="".join(mixed[:cut]), b="".join(mixed[cut:]))) == said(plain)
    assert len(plain) == 3


def test_what_is_taken_back_no_longer_holds(tmp_path: Path) -> None:
    text = "- {date: 2027-05-24, tree: [a, b], saw: first-flower, id: n-1}\n"
    back = "- {date: 2027-05-25, takes_back: n-1}\n"
    only_b = "- {date: 2027-05-25, tree: b, takes_back: n-1}\n"
    assert [e.tree for e in entries(tmp_path, a=text)] == ["a", "b"]
    assert entries(tmp_path, a=text, b=back) == []
    assert [e.tree for e in entries(tmp_path, a=text, b=only_b)] == ["a"]


def test_no_journal_and_nothing_in_it(tmp_path: Path) -> None:
    assert read_journal(tmp_path) == ([], [])
    assert entries(tmp_path, a="", b="# later\n", c="[]\n") == []


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("{date: 2027-02-30, tree: a, did: x}", "date is '2027-02-30', a day that does not exist; "
         "allowed: a date such as 2027-03-01"),
        ("{tree: a, did: x}", "date is missing; needed: a date such as 2027-03-01"),
        ("{date: 2027-03-01, did: x}", "tree is missing; needed: a tree's id, or a list of ids"),
        ("{date: 2027-03-01, tree: [], did: x}", "tree is missing; needed: a tree's id, or a list of ids"),
        ("{date: 2027-03-01, tree: [a, ../b], did: x}", f"tree item 2 is '../b'; allowed: {SLUG}"),
        ("{date: 2027-03-01, tree: a}",
         "the entry says nothing; needed: one of saw, did, skipped, put_off, moved_to, condition, left, weighed_g, low_c, takes_back, flowers, "  # noqa: E501
         "grows, lost, cuttings, young, photo, note, watered"),
        ("{date: 2027-03-01, tree: a, saw: 60, did: x}", "saw and did in one entry; "
         "write one entry for each"),
        ("{date: 2027-03-01, tree: a, saw: 100}", "saw is '100', no BBCH code; allowed: 0 to 99"),
        ("{date: 2027-03-01, tree: a, saw: 40%}", "saw is '40%'; "
         "allowed: a stage such as first-flower, not-yet, {open: 0.4}, or a BBCH code"),
        ("{date: 2027-03-01, tree: a, saw: {open: lots}}", "saw.open is 'lots', not a number; "
         "allowed: 0 to 1, or 0% to 100%"),
        ("{date: 2027-03-01, tree: a, saw: {opne: 0.4}}", "unknown key 'opne'; did you mean open?"),
        ("{date: 2027-03-01, tree: a, condition: young}", "condition is 'young'; allowed: strong, weak"),
        ("{date: 2027-03-01, tree: a, dit: x, did: y}", "unknown key 'dit'; did you mean did?"),
        ("{date: 2027-03-01, tree: a, put_off: x}", "put_off without until; needed: until in the same entry"),
        ("{date: 2027-03-01, tree: a, put_off: x, until: 2027-03-01}", "put off until 2027-03-01, "
         "which is not after the day of the note; allowed: after 2027-03-01"),
        ("{date: 2027-03-01, takes_back: n}", "takes_back 'n' names no entry; none is known here"),
        ("just text", "item 2 is 'just text', not a mapping; allowed: a mapping with at least date"),
    ],
)  # fmt: skip
def test_one_mistake_in_an_entry(tmp_path: Path, text: str, message: str) -> None:
    good = "- {date: 2027-03-01, tree: a, did: repot}\n"
    assert complaints(tmp_path, a=f"{good}- {text}\n") == [f"journal/a.yaml:2: {message}"]


def test_mistakes_in_two_files_are_told_at_once(tmp_path: Path) -> None:
    assert complaints(
        tmp_path,
        a="- {date: 2027-03-01, tree: a, did: A, note: x, id: n}\n- {date: x, tree: a, did: b}\n",
        b="- {date: 2027-03-01, tree: a, did: b}\n- {date: 2027-03-01, takes_back: n}\n- {dte: 1, dte: 2}\n",
        c="date: 2027-03-01\ntree: a\n",
        d="- {date: 2027-03-01\n",
    ) == [
        f"journal/a.yaml:1: did is 'A'; allowed: {SLUG}",
        "journal/a.yaml:2: date is 'x', not a date; allowed: a date such as 2027-03-01",
        "journal/b.yaml:3: date is missing; needed: a date such as 2027-03-01",
        "journal/b.yaml:3: key 'dte' is given twice, first on line 3; keep one of them",
        "journal/b.yaml:3: unknown key 'dte'; did you mean date?",
        "journal/c.yaml:1: the file is a mapping, not a list",
        "journal/d.yaml:2: a { opened on line 1 is not closed, or a comma is missing; "
        "check brackets and commas",
    ]


def test_two_entries_with_one_id(tmp_path: Path) -> None:
    assert complaints(
        tmp_path,
        a="- {date: 2027-03-01, tree: a, did: x, id: n}\n",
        b="- {date: 2027-03-01, tree: a, did: y, id: n}\n",
    ) == [
        "journal/b.yaml:1: entry id 'n' is given twice, first in journal/a.yaml:1; give each entry its own id"
    ]


def test_files_that_would_be_overlooked(tmp_path: Path) -> None:
    put(tmp_path, a="")
    (tmp_path / "journal" / "b.yml").write_text("")
    (tmp_path / "journal" / ".c.yaml").write_text("not: read")
    (tmp_path / "journal" / "photo.jpg").write_bytes(b"\xff")
    assert complaints(tmp_path) == ["journal/b.yml: is not read; let its name end in .yaml"]


def test_a_journal_that_is_no_folder(tmp_path: Path) -> None:
    (tmp_path / "journal").write_text("")
    assert [str(p) for p in read_journal(tmp_path)[1]] == ["journal: not a folder; a folder of .yaml files"]


def test_right_entries_beside_wrong_ones_are_read(tmp_path: Path) -> None:
    """So that what they say wrong is told in the same run."""
    text = "- {date: 2027-05-24, tree: a, saw: first-flower}\n- {date: soon, tree: a, saw: first-flower}\n"
    found, problems = read_journal(put(tmp_path, a=text))
    assert [entry.line for entry in found] == [1]
    assert [problem.line for problem in problems] == [2]
