"""The feeds as written: equal bytes, rising revisions, limits, hostile names, last good bytes."""

import hashlib
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest
from example_copy import A_FEW, copied
from icalendar import Calendar
from serving import clock

from care_planner.calendar.check_bytes import check_bytes
from care_planner.calendar.limits import FEED_EVENTS, FEED_OCTETS
from care_planner.problems import ProblemsFound
from care_planner.serve.read_served import INDEX_FILE, TAXA_STATE_FILE, read_served
from care_planner.serve.refresh import refresh

IDENTITY = "0e2b9a04-5c39-4d0c-9f4b-6f5ad7b0c1aa"
PLAN = """
import sys
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo
from care_planner.serve.refresh import refresh
at = datetime.fromisoformat(sys.argv[2])
refresh(Path(sys.argv[1]), lambda zone: at.astimezone(ZoneInfo(zone)))
"""


def digest_of_feeds(folder: Path) -> str:
    sums = hashlib.sha256()
    for path in sorted((folder / "served").rglob("*.ics")):
        sums.update(path.relative_to(folder).as_posix().encode() + path.read_bytes())
    return sums.hexdigest()


def test_two_processes_with_other_hash_seeds_and_clocks_serve_the_same_bytes(tmp_path: Path) -> None:
    """One plans in the morning and again at night, the other once in the morning."""
    digests = []
    for name, seed, zone, hours in (
        ("one", "1", "UTC", ("01:00", "09:30")),
        ("two", "2", "Pacific/Auckland", ("01:00",)),
    ):
        folder = copied(tmp_path / name, A_FEW)
        (folder / "identity.txt").write_text(f"{IDENTITY}\n", encoding="utf-8")
        for hour in hours:
            command = [sys.executable, "-c", PLAN, str(folder), f"2027-05-29T{hour}:00+00:00"]
            subprocess.run(command, check=True, env={"PYTHONHASHSEED": seed, "TZ": zone, "PATH": ""})
        digests.append((digest_of_feeds(folder), (folder / "served" / INDEX_FILE).read_bytes()))
    assert digests[0] == digests[1]


def sequences(feed: bytes) -> dict[str, tuple[int, str]]:
    return {
        str(event["UID"]): (int(event["SEQUENCE"]), event["LAST-MODIFIED"].to_ical().decode())
        for event in Calendar.from_ical(feed).walk("VEVENT")
    }


def test_a_note_raises_the_revisions_of_scoped_feeds_and_no_clock_does(tmp_path: Path) -> None:
    folder = copied(tmp_path / "trees", A_FEW)
    first = refresh(folder, clock)
    later = refresh(folder, lambda zone: clock(zone) + timedelta(hours=3))
    assert {n: f.change for n, f in later.feeds.items()} == {n: f.change for n, f in first.feeds.items()}
    note = "- {date: 2027-05-15, tree: [sats-01, sats-02, sats-03], saw: first-flower}\n"
    (folder / "journal" / "more.yaml").write_text(note, encoding="utf-8")
    noted = refresh(folder, lambda zone: clock(zone) + timedelta(hours=6))
    moved = 0
    for name in ("taxa/satsuki-azalea.ics", "benches/open.ics", "work/flowers.ics"):
        before, after = sequences(first.feeds[name].plain), sequences(noted.feeds[name].plain)
        assert noted.feeds[name].change.at > first.feeds[name].change.at
        for uid in before.keys() & after.keys():
            assert after[uid] >= before[uid]
            moved += after[uid][0] > before[uid][0]
    assert moved > 0
    assert noted.feeds["taxa/japanese-maple.ics"].change == first.feeds["taxa/japanese-maple.ics"].change


def test_a_stop_before_the_index_is_written_never_takes_last_modified_back(tmp_path: Path) -> None:
    folder = copied(tmp_path / "trees", A_FEW)
    made = refresh(folder, clock)
    path = folder / "served" / "all.ics"
    path.write_bytes(path.read_bytes().replace(b"SEQUENCE:0", b"SEQUENCE:1", 1))
    read = read_served(folder / "served")["all.ics"].change
    assert read.digest != made.feeds["all.ics"].change.digest and read.at > made.feeds["all.ics"].change.at


def test_lost_revisions_of_taxon_feeds_start_above_those_seen(tmp_path: Path) -> None:
    folder = copied(tmp_path / "trees", A_FEW)
    refresh(folder, clock)
    feed = folder / "served" / "taxa" / "japanese-maple.ics"
    feed.write_bytes(feed.read_bytes().replace(b"SEQUENCE:0", b"SEQUENCE:7", 1))
    (folder / "served" / TAXA_STATE_FILE).write_bytes(b"{")
    again = refresh(folder, clock)
    found = [sequence for sequence, _ in sequences(again.feeds["taxa/japanese-maple.ics"].plain).values()]
    assert found and min(found) == 8


def test_damaged_feeds_are_not_served_and_mistakes_keep_the_last_good_ones(tmp_path: Path) -> None:
    folder = copied(tmp_path / "trees", A_FEW)
    good = refresh(folder, clock)
    (folder / "served" / "trees" / "pine-01.ics").write_bytes(b"")
    text = (folder / "collection.yaml").read_text(encoding="utf-8")
    (folder / "collection.yaml").write_text(text + "nonsense: 1\n", encoding="utf-8")
    with pytest.raises(ProblemsFound):
        refresh(folder, clock)
    served = read_served(folder / "served")
    assert "trees/pine-01.ics" not in served
    assert {n: f.plain for n, f in served.items()} == {
        n: f.plain for n, f in good.feeds.items() if n != "trees/pine-01.ics"
    }


def nursery(folder: Path, trees: int) -> None:
    """Potted in batches, so that most are twins."""
    text = (folder / "collection.yaml").read_text(encoding="utf-8")
    head = text[: text.index("trees:")]
    taxa = ("satsuki-azalea", "japanese-maple", "japanese-black-pine")
    rows = "".join(
        f"  - {{id: tree-{n:03}, taxon: {taxa[n % 3]}, bench: {('open', 'frost-pocket')[n % 2]}, "
        f"age: established, condition: strong, last_repot: {{date: 202{n % 4 + 3}-04-04}}}}\n"
        for n in range(trees)
    )
    (folder / "collection.yaml").write_text(f"{head}trees:\n{rows}", encoding="utf-8")
    (folder / "journal" / "2026.yaml").unlink()


def test_feeds_of_500_trees_stay_under_their_limits(tmp_path: Path) -> None:
    folder = copied(tmp_path / "trees", A_FEW)
    nursery(folder, 500)
    feeds = refresh(folder, clock).feeds
    assert len(feeds) > 500
    for name, feed in feeds.items():
        data = feed.plain
        assert len(data) < FEED_OCTETS and data.count(b"BEGIN:VEVENT") < FEED_EVENTS, name
        assert name.startswith("trees/") or check_bytes(data) == []


def renamed(folder: Path, name: str) -> Path:
    """The collection with a name in YAML's double quotes, which take escapes."""
    path = folder / "collection.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("name: Harbour house trees", f'name: "{name}"'), encoding="utf-8")
    return folder


def test_a_hostile_name_stays_text_in_every_feed(tmp_path: Path) -> None:
    folder = renamed(copied(tmp_path / "trees", A_FEW), "\\u202ea;b,c\\\\nEND:VCALENDAR <b>{{ x }}</b>")
    feeds = refresh(folder, clock).feeds
    for feed in ("all.ics", "benches/open.ics", "taxa/japanese-maple.ics", "work/roots.ics"):
        data = feeds[feed].plain
        assert data.count(b"BEGIN:VCALENDAR") == 1 and check_bytes(data) == []
        assert not Calendar.from_ical(data).errors and "\u202e".encode() not in data


@pytest.mark.parametrize("name", ["x\\r\\nEND:VCALENDAR", "a\\u2028b"])
def test_a_name_with_control_characters_is_a_mistake(name: str, tmp_path: Path) -> None:
    with pytest.raises(ProblemsFound) as found:
        refresh(renamed(copied(tmp_path / "trees", A_FEW), name), clock)
    assert [problem.file for problem in found.value.problems] == ["collection.yaml"]
