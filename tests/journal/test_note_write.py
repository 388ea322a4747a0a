"""The line on the disk: whole or not there, whoever else writes, whatever the disk does."""

import errno
import os
import stat
import subprocess
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_collection import TODAY, journal_text, make_collection, noted

import care_planner.journal.write_note as module
from care_planner.journal.lines import cut_off, entry_line, may_grow
from care_planner.journal.model import JournalFile, SawNotYet, SawOpen, WrittenEntry
from care_planner.journal.read_journal import read_journal, read_whole_journal
from care_planner.journal.write_note import append_note, new_id, set_torn_aside
from care_planner.typed_yaml.read_yaml import LARGEST_BYTES, parse_yaml, validate

PROJECT = Path(__file__).parents[2]
LINE = "- {id: n-aaaaaaaa, date: 2027-05-23, tree: sats-01, saw: first-flower}\n"
OTHER = "- {id: n-bbbbbbbb, date: 2027-05-24, tree: sats-01, saw: {open: 0.1}}\n"
ASIDE = f"torn-{TODAY}.txt"

slugs = st.from_regex(r"[a-z0-9][a-z0-9-]{0,20}", fullmatch=True)
texts = st.text(
    st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp"), exclude_characters="\ufeff\ufffe\uffff"),
    min_size=1,
    max_size=60,
).filter(lambda text: text == text.strip() and not any(ord(c) & 0xFFFE == 0xFFFE for c in text))
things = st.one_of(
    st.fixed_dictionaries({"saw": slugs.filter(lambda s: not s.isdigit()) | st.just("07")}),
    st.fixed_dictionaries({"saw": st.builds(SawOpen, open=st.floats(0, 1))}),
    st.fixed_dictionaries({"saw": st.builds(lambda name: SawNotYet(**{"not-yet": name}), slugs)}),
    st.fixed_dictionaries({"did": slugs, "learn": st.booleans()}),
    st.fixed_dictionaries({"condition": st.sampled_from(["strong", "weak"])}),
    st.fixed_dictionaries({"takes_back": slugs}),
    st.fixed_dictionaries({"note": texts}),
)
entries = st.builds(
    lambda day, tree, thing: WrittenEntry(id=new_id(), date=day, tree=tree, **thing),
    st.dates(date(1900, 1, 1), date(2100, 1, 1)),
    slugs | st.lists(slugs, min_size=2, max_size=40).map(tuple),
    things,
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_collection(tmp_path / "yard")


def put(folder: Path, text: str | bytes, name: str = "notes-2027.yaml") -> Path:
    (folder / "journal").mkdir(exist_ok=True)
    path = folder / "journal" / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


@given(entries)
def test_a_line_reads_back_as_the_entry(entry: WrittenEntry) -> None:
    line = entry_line(entry)
    located, problems = parse_yaml(line, "")
    assert located is not None and problems == []
    journal, problems = validate(located, JournalFile)
    assert problems == [] and journal is not None and journal.root == (entry,)
    assert line.count("\n") == 1 and line.endswith("}\n")
    assert may_grow(line.encode() * 2) and not cut_off(line.encode())


@given(entries, st.data())
def test_any_part_of_a_line_is_known_as_cut_off(entry: WrittenEntry, data: st.DataObject) -> None:
    line = entry_line(entry).encode()
    part = line[: data.draw(st.integers(1, len(line) - 2))]
    assert cut_off(LINE.encode() + part) == part
    assert cut_off(LINE.encode() + part + b"\0" * 9) == part + b"\0" * 9
    assert not may_grow(LINE.encode() + part)
    assert cut_off(LINE.encode() + line[:-1]) == b"", "only its line break is missing: it is whole"


@pytest.mark.parametrize(
    "text", ["- {date: 2027-05-2", "- date: 2027-05-23\n  tre", "# to do", "[{date: 2027-05-23", "text"]
)
def test_what_a_person_has_not_finished_is_not_ours_to_move(folder: Path, text: str) -> None:
    path = put(folder, LINE + text)
    assert cut_off(path.read_bytes()) == b""
    assert set_torn_aside(folder, TODAY) == []
    noted(folder, "sats-01", "not-yet half-open")
    assert path.read_text() == LINE + text


@pytest.mark.parametrize(
    "text",
    [
        "# mine\n",
        LINE + "# a remark\n",
        LINE.rstrip("\n"),
        LINE.rstrip("\n") + "  # a remark\n",
        "- {date: 2027-05-23, tree: sats-01, saw: first-flower}\n",
        "[{date: 2027-05-23, tree: sats-01, saw: first-flower}]\n",
        "- date: 2027-05-23\n  tree: sats-01\n  saw: first-flower\n",
        LINE.replace("\n", "\r\n"),
        '- {id: n-aaaaaaaa, date: 2027-05-23, tree: sats-01, note: "open}\n',
    ],
)
def test_a_persons_file_stays_as_it_is(folder: Path, text: str) -> None:
    path = put(folder, text)
    assert noted(folder, "sats-01", "not-yet half-open")[0].endswith("in journal/notes-2027-2.yaml)")
    assert noted(folder, "sats-02", "not-yet half-open")[0].endswith("in journal/notes-2027-2.yaml)")
    assert path.read_bytes() == text.encode()


def test_lines_are_added_to_our_own_file(folder: Path) -> None:
    put(folder, LINE)
    assert append_note(folder, OTHER, 2027, TODAY) == ("journal/notes-2027.yaml", [])
    assert append_note(folder, OTHER.replace("-b", "-c"), 2026, TODAY) == ("journal/notes-2026.yaml", [])
    assert journal_text(folder) == OTHER.replace("-b", "-c") + LINE + OTHER


def test_a_very_long_line(folder: Path) -> None:
    names = tuple(f"tree-{number:05}" for number in range(10_000))
    entry = WrittenEntry(id=new_id(), date=date(2027, 5, 23), tree=names, saw="first-flower")
    append_note(folder, entry_line(entry), 2027, TODAY)
    append_note(folder, LINE, 2027, TODAY)
    found, problems = read_journal(folder)
    assert problems == [] and len(found) == 10_001


@pytest.mark.parametrize("at", [1, 3, 12, 40, len(OTHER) - 2])
def test_a_torn_line_counts_for_nothing_and_is_kept_aside(folder: Path, at: int) -> None:
    path = put(folder, LINE + OTHER[:at])
    journal = read_whole_journal(folder)
    assert [entry.id for entry in journal.entries] == ["n-aaaaaaaa"] and journal.problems == []
    assert journal.torn == (
        "journal/notes-2027.yaml: its last line was cut off while it was written and does not count",
    )
    assert path.read_text() == LINE + OTHER[:at], "reading changes nothing"
    told = noted(folder, "sats-01", "not-yet half-open")
    assert told[0].endswith("in journal/notes-2027.yaml)")
    assert told[1:] == [
        "journal/notes-2027.yaml: its last line was cut off while it was written and never counted; "
        f"it is kept in journal/{ASIDE}"
    ]
    assert (folder / "journal" / ASIDE).read_text() == OTHER[:at] + "\n"
    assert path.read_text().startswith(LINE + "- {id: n-") and len(path.read_text().splitlines()) == 2
    assert read_whole_journal(folder).torn == ()


def test_a_torn_line_is_told_where_nothing_is_written(folder: Path) -> None:
    noted(folder, "sats-01", "half-open")
    put(folder, journal_text(folder) + OTHER[:20])
    assert [line.split(":")[0] for line in noted(folder, "sats-01", "half-open")] == [
        "already noted",
        "journal/notes-2027.yaml",
    ]


def test_torn_in_the_middle_of_a_letter_and_of_a_power_cut(folder: Path) -> None:
    line = '- {id: n-cccccccc, date: 2027-05-23, tree: sats-01, note: "木'.encode()
    put(folder, LINE.encode() + line[:-1])
    put(folder, LINE.encode() + b"\0" * 70, "notes-2026.yaml")
    journal = read_whole_journal(folder)
    assert journal.problems == [] and len(journal.torn) == 2
    assert len(set_torn_aside(folder, TODAY)) == 2
    assert (folder / "journal" / ASIDE).read_bytes() == b"\0" * 70 + b"\n" + line[:-1] + b"\n"
    assert read_whole_journal(folder).torn == () and set_torn_aside(folder, TODAY) == []


def test_a_copy_from_a_sync_conflict_counts_once(folder: Path) -> None:
    put(folder, LINE + OTHER)
    put(folder, LINE + OTHER[:30], "notes-2027.sync-conflict.yaml")
    assert [entry.id for entry in read_journal(folder)[0]] == ["n-aaaaaaaa", "n-bbbbbbbb"]
    assert read_journal(folder)[1] == []


def test_notes_of_one_day_are_told_apart_by_their_hash() -> None:
    """Equal hashes would be compared one with another: 4,000 notes took 45 s."""
    many = [
        *(WrittenEntry(date=TODAY, tree=("sats-01", "sats-02"), note=f"seen {n}") for n in range(2_000)),
        *(WrittenEntry(date=TODAY, tree="sats-01", did=f"work-{n}") for n in range(500)),
        *(WrittenEntry(date=TODAY, tree="sats-01", saw=f"stage-{n}") for n in range(500)),
        *(WrittenEntry(date=TODAY, tree="sats-01", flowers={"striped": 1 + n}) for n in range(500)),
        *(WrittenEntry(date=TODAY, takes_back=f"n-{n}") for n in range(500)),
    ]
    assert len({hash(entry) for entry in many}) == len(many)


def test_a_full_file_is_followed_by_a_new_one_that_can_be_read_back(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "FILE_OCTETS", 2 * len(LINE))
    names = [append_note(folder, LINE.replace("aaaaaaaa", f"aaaaaaa{n}"), 2027, TODAY)[0] for n in range(5)]
    assert names == [f"journal/notes-2027{tail}.yaml" for tail in ("", "", "-2", "-2", "-3")]
    assert module.FILE_OCTETS < LARGEST_BYTES and len(read_journal(folder)[0]) == 5


def test_a_journal_file_that_leads_out_is_refused_without_a_word_of_what_it_holds(
    folder: Path, tmp_path: Path
) -> None:
    (tmp_path / "secret").write_text("hush: {a: 1\n")
    (folder / "journal").mkdir(exist_ok=True)
    link = folder / "journal" / "notes-2027.yaml"
    link.symlink_to(tmp_path / "secret")
    _, problems = read_journal(folder)
    assert [str(one) for one in problems] == [
        "journal/notes-2027.yaml: a link that leads out of the journal; put the file itself here"
    ]
    assert noted(folder, "sats-01", "first-flower")[0].endswith("in journal/notes-2027-2.yaml)")
    assert (tmp_path / "secret").read_text() == "hush: {a: 1\n"


# The disk refuses


def half(original: Callable[[int, bytes], int]) -> Callable[[int, bytes], int]:
    return lambda handle, data: original(handle, data[: len(data) // 2])


def refusing(*_: object) -> Any:
    raise OSError(errno.EIO, os.strerror(errno.EIO))


@pytest.mark.parametrize("first", [True, False])
@pytest.mark.parametrize("fault", ["half", "write", "fsync"])
def test_a_disk_that_refuses_leaves_no_part_of_a_line(
    folder: Path, monkeypatch: pytest.MonkeyPatch, fault: str, first: bool
) -> None:
    if not first:
        put(folder, LINE)
    before = journal_text(folder)
    with monkeypatch.context() as patch:
        if fault == "half":
            patch.setattr(module.os, "write", half(os.write))
        else:
            patch.setattr(module.os, fault, refusing)
        with pytest.raises(OSError, match="nothing was noted"):
            append_note(folder, OTHER, 2027, TODAY)
    assert journal_text(folder) == before
    append_note(folder, OTHER, 2027, TODAY)
    assert journal_text(folder) == before + OTHER
    assert not (folder / "journal" / ASIDE).exists()


def test_an_editor_that_puts_another_file_in_its_place(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = put(folder, LINE)

    def replaced(handle: int) -> None:
        other = path.with_name("draft")
        other.write_text(LINE.replace("first-flower", "half-open"))
        other.replace(path)

    with monkeypatch.context() as patch:
        patch.setattr(module.os, "fsync", replaced)
        with pytest.raises(OSError, match="another program changed the file"):
            append_note(folder, OTHER, 2027, TODAY)
    assert journal_text(folder) == LINE.replace("first-flower", "half-open")


QUOTA = """
import resource, signal, sys
from datetime import date
from pathlib import Path
from care_planner.journal.write_note import append_note
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[3]), int(sys.argv[3])))
try:
    append_note(Path(sys.argv[1]), sys.argv[2], 2027, date(2027, 7, 15))
except OSError as fault:
    print(fault.filename, fault.strerror)
"""


@pytest.mark.parametrize("room", [0, 1, 40])
def test_a_real_quota_leaves_no_part_of_a_line(folder: Path, room: int) -> None:
    pytest.importorskip("resource")
    put(folder, LINE)
    arguments = [sys.executable, "-c", QUOTA, str(folder), OTHER, str(len(LINE) + room)]
    done = subprocess.run(arguments, cwd=PROJECT, capture_output=True, text=True, check=True)
    assert done.stdout.rstrip().endswith("; nothing was noted"), done.stderr
    assert journal_text(folder) == LINE


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_without_the_right_to_write(folder: Path) -> None:
    folder.chmod(stat.S_IRUSR | stat.S_IXUSR)
    try:
        with pytest.raises(PermissionError, match="nothing was noted"):
            noted(folder, "sats-01", "first-flower")
    finally:
        folder.chmod(stat.S_IRWXU)


# Two at once

MANY = """
import sys
from datetime import date
from pathlib import Path
from care_planner.note.take import note
for number in range(int(sys.argv[3])):
    day = date(2027, 5, 1 + number)
    print(note(Path(sys.argv[1]), ("sats-01",), f"note from {sys.argv[2]}", day, date(2027, 7, 15), False)[0])
"""


def test_several_at_once_all_land(folder: Path) -> None:
    many = [
        subprocess.Popen(
            [sys.executable, "-c", MANY, str(folder), f"phone {name}", "12"],
            cwd=PROJECT,
            stdout=subprocess.PIPE,
            text=True,
        )
        for name in "abc"
    ]
    told = [line for one in many for line in one.communicate()[0].splitlines()]
    assert [one.returncode for one in many] == [0, 0, 0] and len(told) == 36
    found, problems = read_journal(folder)
    assert problems == [] and len(found) == 36
    assert all(any(f"({entry.id} in" in line for line in told) for entry in found)
    assert len(journal_text(folder).splitlines()) == 36


def test_only_one_writes_at_a_time(folder: Path) -> None:
    fcntl = pytest.importorskip("fcntl")
    put(folder, LINE)
    lock = folder / "journal" / ".lock"
    with (
        module._held(folder / "journal", 1.0),
        lock.open() as other,
        pytest.raises(BlockingIOError),
    ):
        fcntl.flock(other, fcntl.LOCK_SH | fcntl.LOCK_NB)
    with lock.open() as other:
        fcntl.flock(other, fcntl.LOCK_EX | fcntl.LOCK_NB)
