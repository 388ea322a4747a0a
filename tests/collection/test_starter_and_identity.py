"""A new collection passes its own check; its identity is made once; nothing half written stays."""

import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from uuid import UUID

import pytest

from care_planner.collection.read_collection import read_collection
from care_planner.folder import write_starter as starter
from care_planner.folder.read_identity import read_identity
from care_planner.folder.write_identity import ensure_identity
from care_planner.folder.write_starter import write_starter
from care_planner.journal.read_journal import read_journal

FILES = {
    "collection.yaml",
    "identity.txt",
    "journal/notes.yaml",
    "rules/own.yaml",
    "schemas/collection.schema.json",
    "schemas/journal.schema.json",
}


def written(folder: Path) -> set[str]:
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


def test_the_starter_passes_its_own_check(tmp_path: Path) -> None:
    folder = tmp_path / "new" / "yard"
    assert write_starter(folder) == []
    assert written(folder) >= FILES
    collection, _, problems = read_collection(folder)
    assert problems == [] and collection is not None and len(collection.trees) == 4
    assert read_journal(folder) == ([], [])
    assert read_identity(folder)[0] is not None


def test_the_journal_starter_s_commented_entries_are_good_ones(tmp_path: Path) -> None:
    write_starter(tmp_path)
    notes = tmp_path / "journal" / "notes.yaml"
    notes.write_text(re.sub("^# - ", "- ", notes.read_text(), flags=re.MULTILINE))
    entries, problems = read_journal(tmp_path)
    assert problems == [] and len(entries) == 9


def test_the_collection_starter_s_commented_choices_are_good_ones(tmp_path: Path) -> None:
    write_starter(tmp_path)
    path = tmp_path / "collection.yaml"
    text = re.sub("^( *)# (frost-pocket:|calendar:)", r"\1\2", path.read_text(), flags=re.MULTILINE)
    path.write_text(text)
    collection, _, problems = read_collection(tmp_path)
    assert problems == [] and collection is not None
    assert collection.benches["frost-pocket"].offset_c == -2 and collection.calendar.alarm_hours_before == 15


def test_a_folder_in_use_is_left_alone(tmp_path: Path) -> None:
    assert write_starter(tmp_path) == []
    before = {name: (tmp_path / name).read_bytes() for name in written(tmp_path)}
    assert [str(problem) for problem in write_starter(tmp_path)] == [
        f"{tmp_path}: there is a collection in this folder already; name a new or empty folder"
    ]
    assert {name: (tmp_path / name).read_bytes() for name in written(tmp_path)} == before
    other = tmp_path / "journal"
    assert [str(problem) for problem in write_starter(other)] == [
        f"{other}: the folder is not empty; name a new or empty folder"
    ]
    file = tmp_path / "identity.txt"
    assert [str(problem) for problem in write_starter(file)] == [
        f"{file}: not a folder; name a new or empty folder"
    ]


@pytest.mark.parametrize("fault", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_a_start_that_is_cut_short_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: BaseException
) -> None:
    def refuse(_: Path) -> None:
        raise fault

    monkeypatch.setattr(starter, "ensure_identity", refuse)
    with pytest.raises(type(fault)):
        write_starter(tmp_path / "a" / "yard")
    assert list(tmp_path.iterdir()) == []


def test_an_identity_is_made_once_and_told_apart(tmp_path: Path) -> None:
    first, problems = ensure_identity(tmp_path)
    assert isinstance(first, UUID) and problems == []
    assert ensure_identity(tmp_path) == (first, []) == read_identity(tmp_path)
    other = tmp_path / "other"
    other.mkdir()
    assert ensure_identity(other)[0] != first
    assert written(tmp_path) == {"identity.txt", "other/identity.txt"}


def test_many_at_once_end_with_one_identity(tmp_path: Path) -> None:
    with ThreadPoolExecutor(8) as pool:
        found = list(pool.map(lambda _: ensure_identity(tmp_path)[0], range(24)))
    assert len(set(found)) == 1 and found[0] is not None
    assert written(tmp_path) == {"identity.txt"}


def test_a_disk_without_hard_links(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_: Path, __: Path) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(Path, "hardlink_to", refuse)
    first, _ = ensure_identity(tmp_path)
    assert first is not None and ensure_identity(tmp_path)[0] == first
    assert written(tmp_path) == {"identity.txt"}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("# a comment\nnot-a-uuid\n", "identity.txt:2: 'not-a-uuid' is no identity (a UUID)"),
        ("# only a comment\n", "identity.txt: 0 identities where one belongs"),
        (f"{UUID(int=1)}\n{UUID(int=2)}\n", "identity.txt: 2 identities where one belongs"),
    ],
)
def test_a_spoilt_identity_is_told_and_never_replaced(tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / "identity.txt").write_text(text)
    hint = "restore the file; without it every event of the calendar gets a new identity"
    found, problems = ensure_identity(tmp_path)
    assert found is None and [str(problem) for problem in problems] == [f"{said}; {hint}"]
    assert (tmp_path / "identity.txt").read_text() == text
