"""From a spreadsheet of nine trees to a followed calendar: the README's own commands, one after the other."""

import re
import socket
import subprocess
import sys
import time
from contextlib import closing, suppress
from http.client import HTTPConnection
from pathlib import Path

import openpyxl
import pytest
import vobject
from click.testing import CliRunner

from care_planner.cli import main

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
SPRING, BLOOM = "2027-03-01", "2027-05-20"
# Headings of a grower's own, semicolons, umlauts, decimal commas, a year alone, a column nobody asked for.
LIST = """\
Nr.;Tree;Species;Where it stands;In winter;Age;Health;Last repotted;Pot (litres);Remarks
1;azalea-01;Satsuki azalea;Südterrasse;Kalthaus;established;strong;20.3.2025;5,5;gift
2;Müllers Azalee;satsuki;Südterrasse;Kalthaus;established;weak;2024;7;
3;Weiße;Satsuki;Südterrasse;Kalthaus;young;good;;2,5;bud drop
4;Ahorn klein;Japanese maple;Hof;Hof;young;strong;March 2026;4;
5;Ahorn groß;Acer palmatum;Hof;Schuppen;35 years;strong;15.03.2023;18;
6;Kiefer;black pine;Hof;Schuppen;old;strong;2022;20;
7;Glyzine;Wisteria;Hof;Hof;mature;strong;2024-03-10;15;
8;Ume;Prunus mume;Südterrasse;Kalthaus;young;strong;n/a;6;
9;Kamelie;Camellia;Südterrasse;Kalthaus;established;strong;2025;6;
"""
# The command line, with the clock at the day of the first plan.
ON_THE_DAY = f"""
import pendulum
from care_planner.commands import tools
tools.now_in = lambda zone: pendulum.parse("{SPRING}T09:00:00", tz=zone)
from care_planner.cli import main
main()
"""


def steps() -> list[list[str]]:
    """The commands on `my-trees` in the README's five steps, in their order, without `care-planner`."""
    section = README.split("## Your own calendar, in five steps")[1].split("\n## ")[0]
    return [found.split() for found in re.findall(r"`care-planner (\w+ my-trees[^`]*)`", section)]


def run(words: list[str], *more: str, typed: str = "", code: int = 0) -> str:
    done = CliRunner().invoke(main, [*words, *more], input=typed)
    assert done.exit_code == code, done.output
    return done.output


def test_from_a_list_to_a_followed_calendar(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    ask, start, answer, plan, share, serve, note = steps()
    assert ask == ["start", "my-trees"] and start == ["start", "my-trees", "--trees", "list.csv"]

    wrong_first(tmp_path, start)
    Path("list.csv").write_text(LIST, encoding="utf-8")
    said = run(start, "--yes", "--place", "Ghent", "--today", SPRING)
    assert "list.csv: 9 trees; columns read: Tree as id, Species as taxon" in said
    assert "Last repotted: a year alone is read as 20 March of it (rows 3, 7, 10)" in said
    same_from_excel(tmp_path, start)

    # The day is named where the README leaves it to the clock.
    at_spring = ("--today", SPRING, "--out", "my-trees/calendar")
    first = run(plan, *at_spring)
    assert re.match(r"\d+ works wait for what is not told of \d trees: ", first), first[:200]
    assert "care-planner answer my-trees" in first.split("This weekend")[0]
    assert "Was it pruned?" not in first, "what was due before the collection began is no missed work"

    said = run(answer, typed="no all\n2025\nMarch 2024\nno all\nno all\n")
    assert re.search(r"^\d+ answers written to my-trees/collection.yaml$", said, re.MULTILINE), said
    written = Path("my-trees/collection.yaml").read_text(encoding="utf-8")
    assert "wired: no" in written and "last_repot: {date: 2024-03-15}" in written

    link = re.search(r"http://127\.0\.0\.1:8437(/g/[\w-]+/)", run(share))
    assert link is not None
    followed(serve, link[1])

    assert note[2:] == ["azalea-01", "first-flower"]
    assert "noted on 2027-05-20: first-flower: azalea-01" in run(note, "--today", BLOOM)
    again = " ".join(run(plan, "--today", BLOOM, "--out", "my-trees/calendar").split())
    assert re.search(
        r"azalea-01: Prune after bloom to \d+ Jun \(-\d days\): "
        r"first flower open seen \d days earlier than expected",
        again,
    ), again
    feed = Path("my-trees/calendar/all.ics").read_text(encoding="utf-8")
    assert "first flower open seen" in feed.replace("\r\n ", "")


def wrong_first(place: Path, start: list[str]) -> None:
    """Mistakes on the way: each named with its row, and nothing written."""
    ghent = ("--yes", "--place", "Ghent")
    (place / "list.csv").write_text(LIST.replace("Camellia", "Birch").replace(";weak;", ";wek;"), "utf-8")
    said = run(start, *ghent, code=2)
    assert "list.csv:3: Health is 'wek'; did you mean weak?\n" in said
    assert "list.csv:10: there are no rules for the species 'Birch'; allowed: camellia" in said
    (place / "list.csv").write_text(LIST, encoding="utf-8")
    assert "--place 'Nowhereham' is not known" in run(start, "--yes", "--place", "Nowhereham", code=2)
    assert not (place / "my-trees").exists()


def same_from_excel(place: Path, start: list[str]) -> None:
    """Excel's own file makes the same collection."""
    book = openpyxl.Workbook()
    for row in LIST.splitlines():
        book.active.append(row.split(";"))
    book.save(place / "list.xlsx")
    run(["start", "from-excel", "--trees", "list.xlsx", "--yes", "--place", "Ghent", "--today", SPRING])
    texts = [(place / name / "collection.yaml").read_bytes() for name in ("my-trees", "from-excel")]
    assert texts[0] == texts[1]


def followed(serve: list[str], link: str) -> None:
    """What the server gives another program that follows the link: the page, and the feed in whole."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-c", ON_THE_DAY, *serve, "--port", str(port)]
    server = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        status, feed = fetched(port, f"{link}feeds/all.ics")
        assert status == 200
        events = vobject.readOne(feed).vevent_list
        assert len(events) > 50 and len({event.uid.value for event in events}) == len(events)
        assert fetched(port, link)[0] == 200
        assert fetched(port, f"{link}feeds/benches/S%C3%BCdterrasse.ics")[0] == 200
        assert fetched(port, f"{link[:-9]}AAAAAAAA/feeds/all.ics")[0] == 404
        taken = subprocess.run(command, capture_output=True, text=True, check=False)
        assert taken.returncode == 1 and f"port {port} of 127.0.0.1 is taken" in taken.stderr
    finally:
        server.terminate()
        server.wait(30)


def fetched(port: int, path: str) -> tuple[int, str]:
    """GET, again and again while the server is starting and making its first plan."""
    for _ in range(600):
        with closing(HTTPConnection("127.0.0.1", port, timeout=30)) as there, suppress(OSError):
            there.request("GET", path)
            answer = there.getresponse()
            text = answer.read().decode("utf-8", "replace")
            if answer.status != 503:
                return answer.status, text
        time.sleep(0.2)
    raise AssertionError(f"{path} was never answered")
