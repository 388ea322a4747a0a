"""Files are put in place whole, never through a planted link, and one program at a time."""

import errno
import os
import stat
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from care_planner.disk.read_bytes import leads_out, read_bytes
from care_planner.disk.write_lock import Busy, held
from care_planner.disk.write_whole import HALF_WRITTEN, FileMove, sweep, write_new, write_stages, write_whole

PROJECT = Path(__file__).parents[2]


def test_bytes_that_are_there_already_are_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    assert write_whole(path, b"one", 0o600) is True
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    before = path.stat()
    assert write_whole(path, b"one") is False
    assert path.stat() == before
    assert write_whole(path, b"two") is True
    assert [one.name for one in tmp_path.iterdir()] == ["a.txt"]


def test_a_planted_link_is_replaced_and_what_it_leads_to_is_untouched(tmp_path: Path) -> None:
    secret, path = tmp_path / "secret.txt", tmp_path / "a.txt"
    for held_there in (b"mine", b"new"):  # whatever it holds, even the very bytes to write
        secret.write_bytes(held_there)
        path.unlink(missing_ok=True)
        path.symlink_to(secret)
        write_stages([[FileMove(path, b"new", at=0.0)]])
        assert secret.read_bytes() == held_there and secret.stat().st_mtime > 1_000
        assert not path.is_symlink() and path.read_bytes() == b"new" and path.stat().st_mtime == 0


def test_a_file_written_twice_in_one_go_ends_as_the_last_says(tmp_path: Path) -> None:
    path = tmp_path / "state"
    path.write_bytes(b"settled")
    assert (
        write_stages([[FileMove(path, b"ahead")], [FileMove(path, b"settled")], [FileMove(path, b"settled")]])
        == 2
    )
    assert path.read_bytes() == b"settled"


def test_where_the_disk_is_full_nothing_changes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "gone").write_bytes(b"old")
    tries = iter([None])
    original = os.fsync

    def full(handle: int) -> None:
        if next(tries, errno) is errno:
            raise OSError(errno.ENOSPC, "full")
        original(handle)

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="full"):
        write_stages([[FileMove(tmp_path / "gone", None)], [FileMove(tmp_path / one, b"x") for one in "ab"]])
    assert [(one.name, one.read_bytes()) for one in tmp_path.iterdir()] == [("gone", b"old")]


def test_a_new_file_never_takes_the_place_of_one(tmp_path: Path) -> None:
    write_new(tmp_path / "id", b"first")
    for path in (tmp_path / "id", tmp_path / "link"):
        if path.name == "link":
            path.symlink_to(tmp_path / "nowhere")
        with pytest.raises(FileExistsError):
            write_new(path, b"second")
    assert (tmp_path / "id").read_bytes() == b"first" and not (tmp_path / "nowhere").exists()
    assert sorted(one.name for one in tmp_path.iterdir()) == ["id", "link"]


def test_what_a_killed_program_left_is_swept(tmp_path: Path) -> None:
    (tmp_path / f".x{HALF_WRITTEN}").touch()
    (tmp_path / "mine.half-written").touch()
    sweep([tmp_path])
    assert [one.name for one in tmp_path.iterdir()] == ["mine.half-written"]


@pytest.mark.parametrize("kind", ["pipe", "folder"])
def test_what_is_no_file_is_refused_at_once(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "x"
    os.mkfifo(path) if kind == "pipe" else path.mkdir()
    with pytest.raises(OSError, match=r"not a file|Is a directory"):
        read_bytes(path)


def test_no_more_is_read_than_asked_for(tmp_path: Path) -> None:
    (tmp_path / "x").write_bytes(b"12345")
    assert [read_bytes(tmp_path / "x", most) for most in (None, 5, 3)] == [b"12345", b"12345", b"1234"]


def test_a_link_that_leads_out_is_known(tmp_path: Path) -> None:
    folder = tmp_path / "journal"
    folder.mkdir()
    (folder / "a.yaml").touch()
    (folder / "inside.yaml").symlink_to(folder / "a.yaml")
    (folder / "out.yaml").symlink_to("/etc/passwd")
    (folder / "circle.yaml").symlink_to(folder / "circle.yaml")
    found = {one.name for one in folder.iterdir() if leads_out(one, folder)}
    assert "out.yaml" in found and not {"a.yaml", "inside.yaml"} & found


def test_a_lock_keeps_others_out_for_a_limited_time(tmp_path: Path) -> None:
    lock = tmp_path / ".lock"
    with held(lock):
        told: list[BaseException] = []

        def other() -> None:
            try:
                with held(lock, 0.1):
                    pass
            except Busy as fault:
                told.append(fault)

        began = time.monotonic()
        thread = threading.Thread(target=other)
        thread.start()
        thread.join()
        assert 0.05 < time.monotonic() - began < 5
        assert "another program has been at work there for 0.1 s; try again" in str(told[0])
        script = "import sys\nfrom pathlib import Path\nfrom care_planner.disk.write_lock import held\n"
        script += "with held(Path(sys.argv[1]), 0.1): pass"
        done = subprocess.run([sys.executable, "-c", script, str(lock)], cwd=PROJECT, capture_output=True)
        assert done.returncode == 1 and b"Busy" in done.stderr
    with held(lock, 0.1):  # and lets them in again
        pass


def test_a_lock_is_not_taken_through_a_link(tmp_path: Path) -> None:
    (tmp_path / "mine").write_text("keep")
    (tmp_path / ".lock").symlink_to(tmp_path / "mine")
    with pytest.raises(OSError), held(tmp_path / ".lock", 0.1):
        pass
    assert (tmp_path / "mine").read_text() == "keep"
