"""Links that reach a phone, the published page, a try on another day."""

import re
from datetime import date
from pathlib import Path

import pytest
from example_copy import A_FEW, copied
from serving import clock

from care_planner.problems import ProblemsFound
from care_planner.serve.address import THIS_MACHINE, address_problem, address_words, is_this_machine
from care_planner.serve.share_links import public_address, share_add
from care_planner.serve.write_public import publish
from care_planner.serve.write_trial import trial_copy

NONE = {"tree": None, "bench": None, "taxon": None, "work": None}
DAY = date(2027, 5, 29)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return copied(tmp_path / "trees", A_FEW)


def test_the_address_is_asked_for_once_and_then_known(folder: Path) -> None:
    assert public_address(folder, None, lambda: "") == THIS_MACHINE
    assert public_address(folder, None, lambda: "https://trees.example") == "https://trees.example"

    def never() -> str:
        raise AssertionError("asked again")

    assert public_address(folder, None, never) == "https://trees.example"
    assert public_address(folder, "https://other.example", never) == "https://other.example"
    assert public_address(folder, None, never) == "https://other.example"
    with pytest.raises(ProblemsFound, match=r"--url: 'trees\.example' is no address"):
        public_address(folder, "trees.example", never)
    assert public_address(folder, None, never) == "https://other.example"


def test_a_link_says_honestly_what_works_and_has_a_code_where_a_phone_can_reach_it(folder: Path) -> None:
    here, house, world = (
        share_add(folder, name, NONE, True, url, DAY)  # type: ignore[arg-type]
        for name, url in (
            ("a", THIS_MACHINE),
            ("b", "http://192.168.1.7:8437"),
            ("c", "https://trees.example"),
        )
    )
    assert "works on this machine only" in "".join(here) and not any("█" in line for line in here)
    assert "Without https" in "".join(house) and any("█" in line for line in house)
    assert "Without https" not in "".join(world) and any("█" in line for line in world)
    told = [*here, *house, *world]
    assert max(len(line) for line in told if not line.startswith("  http")) <= 80


@pytest.mark.parametrize(
    ("url", "here"),
    [("http://127.0.0.1:8437", True), ("http://localhost", True), ("http://[::1]:8437/", True),
     ("http://192.168.1.7:8437", False), ("https://trees.example/x", False)],
)  # fmt: skip
def test_which_addresses_are_this_machine(url: str, here: bool) -> None:
    assert address_problem(url) is None and is_this_machine(url) is here
    assert bool(address_words(url)) is url.startswith("http:")


@pytest.mark.parametrize(
    "url", ["", "x", "ftp://a", "https://", "https://a b", "https://u:p@a", "https://a/?b"]
)
def test_what_is_no_address(url: str) -> None:
    assert address_problem(url) is not None


def test_the_published_page_shows_week_year_and_feeds_and_needs_no_other_file(
    folder: Path, tmp_path: Path
) -> None:
    to = tmp_path / "public"
    publish(folder, to, clock)
    page = (to / "trees.html").read_text(encoding="utf-8")
    assert "Today, " in page and "The year 2027" in page and "<script" not in page
    linked = re.findall(r'href="([^"]+)"', page)
    assert "all.ics" in linked and all((to / name).exists() for name in linked)
    before = (to / "trees.html").stat().st_mtime_ns
    publish(folder, to, clock)
    assert (to / "trees.html").stat().st_mtime_ns == before


def test_nothing_is_published_over_what_care_planner_keeps_for_itself(folder: Path) -> None:
    (folder / "calendar").mkdir()
    (folder / "calendar" / "plan.json").write_text("{}", encoding="utf-8")
    for place in ("", "..", "calendar", "served", "journal", "rules", "photos"):
        before = sorted(folder.rglob("*"))
        with pytest.raises(ProblemsFound) as found:
            publish(folder, folder / place, clock)
        assert "--to: " in str(found.value.problems[0]) and sorted(folder.rglob("*")) == before


def test_a_try_leaves_the_collection_as_it_is(folder: Path) -> None:
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    said: list[str] = []
    with trial_copy(folder, DAY, "http://127.0.0.1:1", said.append) as copy:
        assert (copy / "collection.yaml").exists() and copy != folder
        (copy / "journal" / "x.yaml").write_text("- {}\n", encoding="utf-8")
    assert not copy.exists()
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before
    assert any("/g/" in line for line in said)
