"""At any moment a whole calendar is there, and no revision a phone has seen is ever forgotten."""

import errno
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from calendar_samples import NOW, feeds_of, season_of_tasks
from icalendar import Calendar

from care_planner.calendar.check_bytes import check_bytes
from care_planner.calendar.faults import CannotWrite
from care_planner.calendar.feeds import Feeds
from care_planner.calendar.names import LOCK_NAME, PLAN_NAME, STATE_NAME
from care_planner.calendar.read_published import read_published
from care_planner.calendar.write_calendar import held_folder, write_calendar

PLAN = b'{"today": "2027-03-01"}\n'
NEW_PLAN = b'{"today": "2027-03-08"}\n'


def written(folder: Path, feeds: Feeds, plan: bytes = PLAN) -> None:
    with held_folder(folder) as held:
        write_calendar(held, feeds.files, plan, feeds.published)


def files_in(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and path.name != LOCK_NAME
    }


def replanned(folder: Path) -> Feeds:
    """Everything a week later, and one tree less."""
    published, _ = read_published(folder)
    tasks = [replace(one, day=one.day + 7) for one in season_of_tasks(3) if one.tree != "sats-03"]
    return feeds_of(tasks, published, NOW + timedelta(days=7))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a published calendar of three trees."""
    made = tmp_path / "calendar"
    written(made, feeds_of(season_of_tasks(3)))
    return made


def test_what_is_written(folder: Path) -> None:
    trees = [f"trees/sats-{number:02}.ics" for number in (1, 2, 3)]
    assert sorted(files_in(folder)) == [STATE_NAME, "all.ics", PLAN_NAME, *trees, "walks.ics", "works.ics"]
    assert files_in(folder)[PLAN_NAME] == PLAN


def test_files_whose_bytes_stay_are_not_touched(folder: Path) -> None:
    old = NOW.timestamp()
    for name in files_in(folder):
        os.utime(folder / name, (old, old))
    published, _ = read_published(folder)
    tasks = season_of_tasks(3)
    moved = [replace(tasks[0], day=tasks[0].day + 7), *tasks[1:]]
    written(folder, feeds_of(moved, published, NOW + timedelta(days=1)))
    touched = {name for name in files_in(folder) if (folder / name).stat().st_mtime != old}
    assert touched == {STATE_NAME, "all.ics", "works.ics", "trees/sats-01.ics"}


def test_feeds_of_trees_that_are_gone_are_removed_and_no_other_file(folder: Path) -> None:
    (folder / "trees" / "mine.ics").write_text("my own")
    (folder / "notes.txt").write_text("my own")
    written(folder, replanned(folder))
    left = files_in(folder)
    assert "trees/sats-03.ics" not in left
    assert left["trees/mine.ics"] == left["notes.txt"] == b"my own"
    trees = ("trees/sats-01.ics", "trees/sats-02.ics")
    assert read_published(folder)[0].files == ("all.ics", *trees, "walks.ics", "works.ics")


def test_a_feed_once_struck_off_the_list_is_the_person_s_own(folder: Path) -> None:
    written(folder, replanned(folder))
    (folder / "trees" / "sats-03.ics").write_text("my own")
    written(folder, replanned(folder))
    assert (folder / "trees" / "sats-03.ics").read_text() == "my own"


@pytest.mark.parametrize(
    "name", ["../all.ics", "trees/../../x.ics", "/x.ics", "trees/.x.ics", "trees/a/b.ics", "x.txt", "a\n.ics"]
)
def test_a_name_that_leaves_the_folder_is_refused(folder: Path, name: str) -> None:
    before = files_in(folder)
    with (
        held_folder(folder) as held,
        pytest.raises(CannotWrite, match="is no name for a feed; nothing was written"),
    ):
        write_calendar(held, {name: b""}, NEW_PLAN, read_published(folder)[0])
    assert files_in(folder) == before


def test_a_state_that_lists_other_files_removes_none_of_them(folder: Path, tmp_path: Path) -> None:
    outside = tmp_path / "keep.ics"
    outside.write_text("my own")
    feeds = feeds_of(season_of_tasks(3))
    written(folder, replace(feeds, published=replace(feeds.published, files=("../keep.ics", "notes.txt"))))
    assert outside.read_text() == "my own"


def failing_at(use: int, original: Callable, fault: BaseException) -> Callable:
    """In the place of a call: works for `use` uses and fails from then on."""
    uses = iter(range(use))

    def call(*arguments: object, **options: object) -> object:
        if next(uses, None) is None:
            raise fault
        return original(*arguments, **options)

    return call


FULL = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


@pytest.mark.parametrize("use", range(5))
def test_a_full_disk_leaves_the_last_calendar_whole(
    folder: Path, monkeypatch: pytest.MonkeyPatch, use: int
) -> None:
    before = files_in(folder)
    feeds = replanned(folder)
    monkeypatch.setattr(os, "fsync", failing_at(use, os.fsync, FULL))
    with pytest.raises(CannotWrite) as told:
        written(folder, feeds, NEW_PLAN)
    assert str(told.value) == (
        f"cannot write the calendar in {folder}: No space left on device;"
        " the last good calendar is still there"
    )
    assert files_in(folder) == before


@pytest.mark.parametrize("use", range(6))
@pytest.mark.parametrize("fault", [FULL, KeyboardInterrupt()])
def test_stopped_between_files_each_is_whole_and_the_next_plan_finishes(
    folder: Path, monkeypatch: pytest.MonkeyPatch, use: int, fault: BaseException
) -> None:
    feeds = replanned(folder)
    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", failing_at(use, Path.replace, fault))
        with pytest.raises(CannotWrite if isinstance(fault, OSError) else KeyboardInterrupt):
            written(folder, feeds, NEW_PLAN)
    assert_whole(folder)
    assert files_in(folder)[PLAN_NAME] == PLAN, "the plan comes last"
    assert_the_next_plan_finishes(folder, feeds)


def assert_whole(folder: Path) -> None:
    """Every feed passes its check, none is ahead of the remembered state, and nothing lies about."""
    published, problems = read_published(folder)
    assert problems == []
    for name, data in files_in(folder).items():
        assert name in (STATE_NAME, PLAN_NAME) or name.endswith(".ics")
        if not name.endswith(".ics"):
            continue
        assert check_bytes(data) == []
        records = published.feeds[name]
        for found in Calendar.from_ical(data).walk("VEVENT"):
            assert records[found["UID"]].sequence >= found["SEQUENCE"]


def assert_the_next_plan_finishes(folder: Path, feeds: Feeds) -> None:
    later, _ = read_published(folder)
    tasks = [replace(one, day=one.day + 7) for one in season_of_tasks(3) if one.tree != "sats-03"]
    written(folder, feeds_of(tasks, later, NOW + timedelta(days=7)), NEW_PLAN)
    assert {name: data for name, data in files_in(folder).items() if name.endswith(".ics")} == feeds.files
    assert files_in(folder)[PLAN_NAME] == NEW_PLAN


KILLED = """
import os, sys
from pathlib import Path
sys.path.insert(0, sys.argv[1])
import test_write_calendar as tests
call, use = sys.argv[3], iter(range(int(sys.argv[4])))
owner = Path if call in ("replace", "unlink") else os
original = getattr(owner, call)
def killed(*arguments, **options):
    if next(use, None) is None:
        os._exit(9)
    return original(*arguments, **options)
folder = Path(sys.argv[2])
feeds = tests.replanned(folder)
setattr(owner, call, killed)
tests.written(folder, feeds, tests.NEW_PLAN)
"""


@pytest.mark.parametrize(
    ("call", "use"),
    [*(("replace", use) for use in range(6)), ("unlink", 0), ("fsync", 0), ("fsync", 3), ("fsync", 9)],
)
def test_killed_at_any_moment_nothing_a_phone_has_seen_is_forgotten(
    folder: Path, call: str, use: int
) -> None:
    feeds = replanned(folder)
    here = Path(__file__).parent
    arguments = [sys.executable, "-c", KILLED, str(here), str(folder), call, str(use)]
    environment = {**os.environ, "PYTHONPATH": str(here.parents[1])}
    done = subprocess.run(arguments, env=environment, capture_output=True)
    assert done.returncode == 9, done.stderr.decode()
    with held_folder(folder) as held:
        published, _ = read_published(folder)
        files = {name: (folder / name).read_bytes() for name in published.files if (folder / name).exists()}
        write_calendar(held, files, PLAN, published)  # sweeps what the killed one left beside its place
    assert_whole(folder)
    assert_the_next_plan_finishes(folder, feeds)


QUOTA = """
import resource, sys
from pathlib import Path
sys.path.insert(0, sys.argv[1])
import test_write_calendar as tests
feeds = tests.replanned(Path(sys.argv[2]))
resource.setrlimit(resource.RLIMIT_FSIZE, (900, 900))
try:
    tests.written(Path(sys.argv[2]), feeds, tests.NEW_PLAN)
except tests.CannotWrite as fault:
    print(fault)
"""


def test_a_real_quota_leaves_the_last_calendar_whole(folder: Path) -> None:
    pytest.importorskip("resource")
    before = files_in(folder)
    here = Path(__file__).parent
    environment = {**os.environ, "PYTHONPATH": str(here.parents[1])}
    arguments = [sys.executable, "-c", QUOTA, str(here), str(folder)]
    done = subprocess.run(arguments, env=environment, capture_output=True, check=True, text=True)
    assert done.stdout.startswith(f"cannot write the calendar in {folder}: File too large")
    assert files_in(folder) == before


def test_two_plans_never_write_one_folder_at_once(tmp_path: Path) -> None:
    fcntl = pytest.importorskip("fcntl")
    with held_folder(tmp_path), (tmp_path / LOCK_NAME).open() as other, pytest.raises(BlockingIOError):
        fcntl.flock(other, fcntl.LOCK_EX | fcntl.LOCK_NB)
    with (tmp_path / LOCK_NAME).open() as other:
        fcntl.flock(other, fcntl.LOCK_EX | fcntl.LOCK_NB)


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with (
        pytest.raises(CannotWrite, match=r"cannot write in .*file: Not a directory"),
        held_folder(tmp_path / "file"),
    ):
        pass


def test_a_read_only_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    refused = OSError(errno.EROFS, os.strerror(errno.EROFS))
    monkeypatch.setattr(os, "open", failing_at(0, os.open, refused))
    with pytest.raises(CannotWrite, match="Read-only file system"), held_folder(tmp_path):
        pass


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_without_the_right_to_write(folder: Path) -> None:
    before = files_in(folder)
    feeds = replanned(folder)
    folder.chmod(0o555)
    try:
        with pytest.raises(CannotWrite, match="Permission denied"):
            written(folder, feeds)
    finally:
        folder.chmod(0o755)
    assert files_in(folder) == before
