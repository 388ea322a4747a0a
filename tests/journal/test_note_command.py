"""Noting: which trees, what is refused, what is said, what stands in the file."""

import re
from datetime import date, timedelta
from pathlib import Path

import pytest
from small_collection import TODAY, journal_text, make_collection, noted, refused

from care_planner.journal.model import Saw
from care_planner.journal.read_journal import read_journal
from care_planner.note.take import note
from care_planner.problems import ProblemsFound

ID = re.compile(r"n-[a-z0-9]{8}")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_collection(tmp_path / "yard")


def id_in(lines: list[str]) -> str:
    found = ID.search(lines[0])
    assert found is not None
    return found[0]


def trees_of(folder: Path) -> list[str]:
    return [entry.tree for entry in read_journal(folder)[0]]


def test_an_entry_is_one_line_with_an_id(folder: Path) -> None:
    (told,) = noted(folder, "sats-02 sats-01 sats-02", "first-flower")
    id = id_in([told])
    assert told == f"noted on 2027-05-23: first-flower: sats-01, sats-02 ({id} in journal/notes-2027.yaml)"
    assert journal_text(folder) == (
        f"- {{id: {id}, date: 2027-05-23, tree: [sats-01, sats-02], saw: first-flower}}\n"
    )
    (folder / "journal" / "notes-2027.yaml").read_bytes().decode("ascii")


@pytest.mark.parametrize(
    ("what", "key", "value"),
    [
        ("bud-swell", "saw", Saw(stage="bud-swell")),
        ("open 40%", "saw", Saw(share_open=0.4)),
        ("open 33.3%", "saw", Saw(share_open=0.333)),
        ("not-yet", "saw", Saw(not_yet=True)),
        ("not-yet half-open", "saw", Saw(stage="half-open", not_yet=True)),
        ("BBCH 60", "saw", Saw(bbch=60)),
        ("00", "saw", Saw(bbch=0)),
        ("did spring-feed", "did", "spring-feed"),
        ("repotted", "did", "repotted"),
        ("skipped prune-after-bloom", "skipped", "prune-after-bloom"),
        ("moved-to low", "moved_to", "low"),
        ("condition weak", "condition", "weak"),
        ('said "no": {a} #1 \\ 木 🌱', "note", 'said "no": {a} #1 \\ 木 🌱'),
    ],
)
def test_every_form_is_read_back_as_it_was_meant(folder: Path, what: str, key: str, value: object) -> None:
    noted(folder, "sats-01", what)
    (entry,), problems = read_journal(folder)
    assert problems == []
    assert (entry.date, entry.tree, getattr(entry, key)) == (date(2027, 5, 23), "sats-01", value)
    assert entry.learn


def test_an_entry_that_nothing_is_learnt_from(folder: Path) -> None:
    note(folder, ("sats-01",), "first-flower", date(2027, 5, 23), TODAY, False, learn=False)
    assert ", learn: false}" in journal_text(folder)
    assert [entry.learn for entry in read_journal(folder)[0]] == [False]
    told = noted(folder, "sats-01", "first-flower")
    assert told[1] == "sats-01: to learn from it or not, take that entry back first"
    assert len(journal_text(folder).splitlines()) == 1


def test_groups_hold_the_trees_that_were_there(folder: Path) -> None:
    noted(folder, "all", "note watered with rain", "2026-01-15")
    assert trees_of(folder) == ["maple-01", "pine-01", "sats-02"], "sats-01 was not acquired yet"
    noted(folder, "taxon:satsuki-azalea", "note watered with rain", "2027-07-01")
    assert trees_of(folder)[3:] == ["sats-01"], "sats-02 was sold the day before"


def test_a_bench_holds_the_trees_that_stand_on_it_that_day(folder: Path) -> None:
    noted(folder, "sats-01", "did shelter", "2026-11-20")
    noted(folder, "pine-01", "moved-to low", "2027-01-10")
    noted(folder, "sats-01", "did bring-out", "2027-03-20")
    for day, bench, trees in (
        ("2026-11-19", "bench:open", "maple-01, pine-01, sats-01"),
        ("2026-11-20", "bench:shed", "sats-01"),
        ("2027-01-09", "bench:low", "sats-02"),
        ("2027-01-10", "bench:low", "pine-01, sats-02"),
        ("2027-03-20", "bench:open", "maple-01, sats-01"),
    ):
        assert noted(folder, bench, f"note rain on {day}", day)[0].startswith(
            f"noted on {day}: note rain on {day}: {trees} (n-"
        )
    assert refused(folder, "bench:shed", "note rain again", "2027-04-01") == [
        "TREE: 'bench:shed' holds no tree on 2027-04-01"
    ]


def test_every_mistake_is_told_at_once(folder: Path) -> None:
    assert refused(folder, "sats-1 taxon:maple bench:opn", "fist-flower", "2027-07-16") == [
        "--date: 2027-07-16 is after today, 2027-07-15; allowed: 2027-07-15 or earlier",
        "TREE: unknown bench 'opn'; did you mean open?",
        "TREE: unknown taxon 'maple'; allowed: japanese-black-pine, japanese-maple, satsuki-azalea",
        "TREE: unknown tree 'sats-1'; did you mean sats-01?",
        "WHAT: 'fist-flower' is not understood; did you mean first-flower? free text begins with: note",
    ]
    assert refused(folder, "sats-01 sats-1", "did reopt", "2026-01-31") == [
        "TREE: 2026-01-31 is before sats-01 was acquired on 2026-02-01; allowed: that day or later",
        "TREE: unknown tree 'sats-1'; did you mean sats-01?",
        "WHAT: sats-01: unknown work 'reopt'; did you mean repot?",
    ]


@pytest.mark.parametrize(
    ("who", "what", "message"),
    [
        ("sats-01 maple-01", "half-open",
         "maple-01: unknown stage 'half-open'; allowed: "),
        ("maple-01 pine-01", "open 10%",
         "maple-01: japanese-maple has no flowers whose share open could be noted; allowed: a stage"),
        ("maple-01", "60", "maple-01: no stage of japanese-maple has the BBCH code 60; allowed: 00, 01"),
        ("sats-01", "moved-to shd", "unknown bench 'shd'; did you mean shed?"),
        ("sats-01", "skipped prune-after-blom",
         "sats-01: unknown work 'prune-after-blom'; did you mean prune-after-bloom?"),
        ("sats-01", "tell\x07 it all", "note is 'tell\\x07 it all', with a control character; "
         "allowed: text and line breaks"),
        ("sats-01", "so " * 1000, "note has 2999 characters; allowed: 1 to 2000"),
    ],
)  # fmt: skip
def test_what_the_taxon_does_not_know_is_refused(folder: Path, who: str, what: str, message: str) -> None:
    assert refused(folder, who, what, sure=True)[0].startswith(f"WHAT: {message}")


def test_today_is_no_mistake(folder: Path) -> None:
    assert noted(folder, "sats-01", "not-yet end-of-growth", TODAY.isoformat())[0].startswith("noted on")
    assert refused(folder, "sats-01", "end-of-growth", (TODAY + timedelta(days=1)).isoformat())


def test_the_same_words_twice_on_one_day(folder: Path) -> None:
    id = id_in(noted(folder, "sats-01", "open 40%"))
    before = journal_text(folder)
    assert noted(folder, "sats-01", "open 0.4") == [f"already noted: sats-01 on 2027-05-23 ({id})"]
    assert journal_text(folder) == before
    told = noted(folder, "all", "note rain all day")
    told = noted(folder, "sats-01 sats-02", "open 40%")
    assert trees_of(folder).count("sats-02") == 2
    assert told[0].startswith("noted on 2027-05-23: open 40%: sats-02 (n-")
    assert told[1:] == [f"already noted: sats-01 on 2027-05-23 ({id})"]
    assert noted(folder, "sats-01", "open 40%", "2027-05-24")[0].startswith("noted on 2027-05-24")


def test_an_entry_of_a_person_counts_as_noted(folder: Path) -> None:
    (folder / "journal").mkdir()
    (folder / "journal" / "mine.yaml").write_text("- {date: 2027-05-23, tree: sats-01, saw: {open: 40%}}")
    assert noted(folder, "sats-01", "open 40%") == [
        "already noted: sats-01 on 2027-05-23 (journal/mine.yaml:1)"
    ]


def test_taking_back_is_a_new_entry(folder: Path) -> None:
    id = id_in(noted(folder, "sats-01 sats-02", "first-flower"))
    before = journal_text(folder)
    noted(folder, "sats-01", f"take-back {id}", "2027-05-24")
    assert journal_text(folder).startswith(before)
    assert trees_of(folder) == ["sats-02"]
    assert refused(folder, "sats-01", f"take-back {id}") == [
        f"WHAT: entry {id} is not about sats-01; allowed: sats-02, or all"
    ]
    noted(folder, "all", f"take-back {id}")
    assert trees_of(folder) == []
    assert refused(folder, "all", f"take-back {id}") == [
        f"WHAT: entry {id} does not hold; it is taken back, or has a mistake"
    ]
    assert refused(folder, "all", "take-back n-0")[0].startswith("WHAT: no entry has the id 'n-0'; ")
    assert noted(folder, "sats-01", "first-flower")[0].startswith("noted"), "it may be noted anew"


def test_a_note_on_a_tree_that_has_left_is_history(folder: Path) -> None:
    told = noted(folder, "sats-02", "note the new owner says it thrives", "2027-07-04")
    assert told[1:] == ["sats-02 left on 2027-06-30: kept as history"]


def test_mistakes_elsewhere_in_the_journal_keep_nobody_from_noting(folder: Path) -> None:
    (folder / "journal").mkdir()
    (folder / "journal" / "notes-2027.yaml").write_text("- {date: 2027-02-30, tree: sats-01, did: repot}\n")
    told = noted(folder, "sats-01", "first-flower")
    assert told[0].endswith("in journal/notes-2027-2.yaml)")
    assert told[1].startswith("the journal has mistakes: journal/notes-2027.yaml:1: date is '2027-02-30'")


def test_a_broken_collection_is_told_as_ever(folder: Path) -> None:
    path = folder / "collection.yaml"
    path.write_text(path.read_text().replace("japanese-maple", "japanese-mapel").replace("low: {", "lw: {"))
    with pytest.raises(ProblemsFound, match=r"collection.yaml:\d+: bench 'low' is unknown; did you mean lw"):
        noted(folder, "sats-01", "first-flower")
    path.write_text(path.read_text().replace("lw: {", "low: {"))
    with pytest.raises(ProblemsFound, match="unknown taxon 'japanese-mapel'; did you mean japanese-maple"):
        noted(folder, "sats-01", "first-flower")
    with pytest.raises(ProblemsFound, match="no such folder"):
        noted(folder / "nowhere", "sats-01", "first-flower")


def test_a_journal_that_is_no_folder(folder: Path) -> None:
    (folder / "journal").write_text("")
    with pytest.raises(ProblemsFound, match=r"journal: not a folder; a folder of \.yaml files"):
        noted(folder, "sats-01", "first-flower")


def test_the_file_is_named_for_the_season_in_the_south_too(folder: Path) -> None:
    path = folder / "collection.yaml"
    path.write_text(path.read_text().replace("latitude: 37.75", "latitude: -37.75"))
    assert "journal/notes-2026.yaml" in noted(folder, "pine-01", "did repot", "2027-05-01")[0]
    assert "journal/notes-2027.yaml" in noted(folder, "pine-01", "did repot", "2027-07-05", sure=True)[0]
