"""What was published comes back whole, or is rebuilt from the feeds without a revision ever falling."""

import json
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from calendar_samples import HOSTILE, IDENTITY, NOW, feeds_of, season_of_tasks, task
from icalendar import Calendar

from care_planner.calendar.events import Alarms
from care_planner.calendar.faults import CannotWrite
from care_planner.calendar.feeds import Feeds
from care_planner.calendar.identity import uid
from care_planner.calendar.names import BROKEN_STATE_NAME, STATE_NAME
from care_planner.calendar.read_published import read_published
from care_planner.calendar.revisions import Published
from care_planner.calendar.state_text import Unreadable, parse_state_text, write_state_text
from care_planner.calendar.write_calendar import held_folder, write_calendar

LATER = NOW + timedelta(days=3)


def written(folder: Path, feeds: Feeds) -> None:
    with held_folder(folder) as held:
        write_calendar(held, feeds.files, b"{}\n", feeds.published)


def revisions(feed: bytes) -> dict[str, int]:
    return {one["UID"]: one["SEQUENCE"] for one in Calendar.from_ical(feed).walk("VEVENT")}


def test_reading_back_what_was_written_gives_the_same() -> None:
    tasks = [
        *season_of_tasks(3),
        *(task(f"t-{n}", title=text, cautions=(text,)) for n, text in enumerate(HOSTILE)),
    ]
    published = feeds_of(tasks, alarms=Alarms(900)).published
    dropped = feeds_of(tasks[:4], published, LATER, url="https://trees.example/").published
    for state in (Published(), published, dropped):
        assert parse_state_text(write_state_text(state)) == state


def test_nothing_there_is_a_fresh_start(tmp_path: Path) -> None:
    assert read_published(tmp_path / "none") == (Published(), [])


def test_planning_twice_changes_no_byte(tmp_path: Path) -> None:
    written(tmp_path, feeds_of(season_of_tasks(3)))
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    published, problems = read_published(tmp_path)
    written(tmp_path, feeds_of(season_of_tasks(3), published, LATER))
    assert problems == []
    assert {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == before


def moved_twice(folder: Path) -> dict[str, bytes]:
    """A folder whose one event stands at revision 2; its feeds."""
    for step, on in enumerate(("2027-05-22", "2027-05-29", "2027-06-05")):
        published, _ = read_published(folder)
        feeds = feeds_of([task(on=on), task("other")], published, NOW + timedelta(days=step))
        written(folder, feeds)
    return dict(feeds.files)


@pytest.mark.parametrize(
    "state",
    [
        None,
        b"",
        b"{",
        b"[]",
        b'{"version":2}',
        b"\xff\xfe",
        b'{"version":1}',
        b'{"version":1,"trees":{"a":[1]}}',
    ],
)
def test_a_lost_or_broken_state_never_lets_a_revision_fall(tmp_path: Path, state: bytes | None) -> None:
    before = moved_twice(tmp_path)
    if state is None:
        (tmp_path / STATE_NAME).unlink()
    else:
        (tmp_path / STATE_NAME).write_bytes(state)
    published, (problem,) = read_published(tmp_path)
    what = "missing; revisions were read back from the feeds beside it"
    if state is not None:
        what = "not what care_planner wrote; revisions were read back from the feeds"
    assert str(problem) == f"{tmp_path / STATE_NAME}: {what}"
    feeds = feeds_of([task(on="2027-06-05"), task("other"), task("new")], published, LATER)
    for name, feed in before.items():
        for id, revision in revisions(feed).items():
            assert revisions(feeds.files[name]).get(id, 99) > revision
    assert set(revisions(feeds.files["trees/new.ics"]).values()) == {3}
    written(tmp_path, feeds)
    if state:
        assert (tmp_path / BROKEN_STATE_NAME).read_bytes() == state
    settled, problems = read_published(tmp_path)
    assert problems == []
    assert settled.floor == 3


def test_text_that_looks_like_an_event_is_not_read_back_as_one(tmp_path: Path) -> None:
    for offset in range(80):  # at one of them the fold ends a line just after the false end
        trap = "x" * offset + "END:VEVENT"
        feeds = feeds_of([task(cautions=(trap + "y" * 64 + "BEGIN:VEVENT" + "z" * 80,))])
        (tmp_path / "all.ics").write_bytes(feeds.files["all.ics"])
        published, _ = read_published(tmp_path)
        assert {uid: record.day for uid, record in published.older.items()} == {
            uid: record.day for uid, record in feeds.published.feeds["all.ics"].items()
        }


def test_feeds_of_other_making_are_passed_over(tmp_path: Path) -> None:
    (tmp_path / "all.ics").write_bytes(
        b"BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nUID:x\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
    )
    assert read_published(tmp_path) == (Published(), [])


def test_a_state_of_a_later_version_stops_everything(tmp_path: Path) -> None:
    (tmp_path / STATE_NAME).write_text('{"version": 3}')
    with pytest.raises(CannotWrite, match="was written by a later version of care_planner; nothing was read"):
        read_published(tmp_path)


def test_a_file_where_the_folder_should_be(tmp_path: Path) -> None:
    (tmp_path / "calendar").write_text("")
    with pytest.raises(CannotWrite, match="calendar is not a folder"):
        read_published(tmp_path / "calendar")


def test_a_state_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> int:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("os.open", refuse)
    with pytest.raises(CannotWrite, match=r"cannot read .*: Permission denied"):
        read_published(tmp_path)


@pytest.mark.parametrize(
    ("good", "bad"),
    [
        ('"floor":0', '"floor":"0"'),
        ('"floor":0', '"floor":true'),
        ('20270301T080000Z"', 'yesterday"'),
        ('"files":["all.ics"', '"files":[3'),
        ('"texts":[\n"', '"texts":[\n7,"'),
        (",1,null,", ",1,false,"),
        (",1,null,", ",1,null,-"),
        (",1,null,", ",1,null,99"),
        (",1,null,", ",1,null,[],"),
    ],
)
def test_a_state_with_a_wrong_type_is_unreadable(good: str, bad: str) -> None:
    published = replace(feeds_of([task()]).published, files=("all.ics",))
    text = write_state_text(published).decode()
    assert good in text
    with pytest.raises(Unreadable):
        parse_state_text(text.replace(good, bad).encode())


OLD_ROW = [4, "20270201T080000Z", 740_000, {"title": "Prune", "window": [1, 2, 3], "why": ["x"]}]


def test_a_state_of_the_first_version_is_turned_into_the_new_one_without_ghosts(tmp_path: Path) -> None:
    """Works live on under their UIDs and rise; what is a walk now is in no feed and forgotten."""
    work, gone = task(), task(rule="water-check")
    rows = {uid(IDENTITY, one.key): OLD_ROW for one in (work, gone)}
    old = {"version": 1, "floor": 0, "files": ["all.ics", "trees/old.ics"], "trees": rows, "rounds": rows}
    (tmp_path / "trees").mkdir()
    (tmp_path / "trees" / "old.ics").write_text("of a tree that has left")
    (tmp_path / STATE_NAME).write_text(json.dumps(old))
    published, problems = read_published(tmp_path)
    assert problems == []
    written(tmp_path, feeds_of([work, task("t-new")], published, NOW))
    shown = revisions((tmp_path / "all.ics").read_bytes())
    assert shown[uid(IDENTITY, work.key)] == 5
    assert uid(IDENTITY, gone.key) not in shown
    assert revisions((tmp_path / "trees" / "t-new.ics").read_bytes()) == {uid(IDENTITY, task("t-new").key): 5}
    assert not (tmp_path / "trees" / "old.ics").exists()
    state = (tmp_path / STATE_NAME).read_text()
    assert json.loads(state)["version"] == 2
    assert uid(IDENTITY, gone.key) not in state
    again, _ = read_published(tmp_path)
    assert feeds_of([work, task("t-new")], again, LATER).published == again
