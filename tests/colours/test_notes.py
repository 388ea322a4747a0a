"""Branches, flowers and cuttings as people write them: what is taken, and the whole text of messages."""

from pathlib import Path

import pytest

from care_planner.collection.read_collection import read_collection
from care_planner.colours.gather import gather
from care_planner.colours.lineage import Bloom, Lineage
from care_planner.journal.read_journal import read_journal
from care_planner.problems import Problem
from care_planner.rulebook.read_packs import read_rulebook

SITE = """\
site: {name: Yard, latitude: 50.8, longitude: 4.4, elevation_m: 60, timezone: Europe/Brussels, weather: w.csv}
benches: {open: {}}
trees:
  - id: t
    taxon: satsuki-azalea
    bench: open
"""
RULEBOOK, _ = read_rulebook(None, {"satsuki-azalea", "japanese-maple"})
FORMS = "allowed: white ground, flecked, striped, heavily striped, coloured margin, white centre, solid"


def told(folder: Path, tree: str = "", journal: str = "") -> tuple[list[Lineage], list[Problem]]:
    """The lineages of a collection whose one tree has these lines more, and this journal."""
    (folder / "collection.yaml").write_text(SITE + tree, encoding="utf-8")
    (folder / "journal").mkdir()
    (folder / "journal" / "n.yaml").write_text(journal, encoding="utf-8")
    collection, _, problems = read_collection(folder)
    entries, faults = read_journal(folder)
    problems = problems + faults
    if collection is None:
        return [], problems
    found, wrong = gather(collection, entries, RULEBOOK)
    return [lineage for part in found.values() for lineage in part], [*problems, *wrong]


BRANCHES = """\
    branches:
      - {id: left-1, since: 2024, height: low, depth: inside}
      - {id: left-2, from: left-1, since: 2025}
    cuttings:
      - {id: c7, branch: left-1, taken: 2024-07-01, count: 8}
    variety: {forms: [white-ground, solid]}
"""
JOURNAL = """\
- {date: 2026-05-20, tree: t, branch: left-1, flowers: {white ground: 12, Striped: 3}, photo: p/1.jpg}
- {date: 2026-05-21, tree: t, branch: left-2, flowers: {akamuji: 4}, full_sun: yes}
- {date: 2026-05-21, tree: t, branch: low-3, grows: {from: left-2, since: 2026, height: low}}
- {date: 2026-05-22, tree: t, batch: c7, plant: 2, flowers: {solid: 1}}
- {date: 2025-05-22, tree: t, batch: c7, young: rooted, count: 6}
- {date: 2026-06-22, tree: t, branch: left-2, lost: cut}
"""


def test_what_is_written_is_what_is_taken(tmp_path: Path) -> None:
    (lineage,), problems = told(tmp_path, BRANCHES, JOURNAL)
    assert problems == []
    assert lineage.variety == (0, 6)
    left, second, low = (lineage.branches[id] for id in ("left-1", "left-2", "low-3"))
    assert left.blooms == {2026: Bloom((12, 0, 3, 0, 0, 0, 0))} and left.photos == ("p/1.jpg",)
    assert second.blooms == {2026: Bloom((0, 0, 0, 0, 0, 0, 4), full_sun=True)}
    assert (second.lost, low.lost, low.grows_from, low.height) == (2026, 2026, "left-2", "low")
    batch = lineage.batches["c7"]
    assert (batch.taken, batch.count, batch.rooted, dict(batch.blooms)) == (
        2024, 8, 6, {2: {2026: Bloom((0, 0, 0, 0, 0, 0, 1))}},
    )  # fmt: skip


@pytest.mark.parametrize(("count", "rooted"), [("count: 0", 0), ("count: 5", 5), ("", 8)])
def test_none_rooted_is_a_count(tmp_path: Path, count: str, rooted: int) -> None:
    note = f"- {{date: 2025-05-22, tree: t, batch: c7, young: rooted, {count}}}\n".replace(", }", "}")
    (lineage,), problems = told(tmp_path, BRANCHES, note)
    assert problems == [] and lineage.batches["c7"].rooted == rooted


def test_seen_in_shade_stands_against_the_same_season_in_full_sun(tmp_path: Path) -> None:
    sun = "- {date: 2026-05-20, tree: t, flowers: {white: 5}, full_sun: yes}\n"
    shade = "- {date: 2026-05-19, tree: t, flowers: {striped: 2}}\n"
    (lineage,), _ = told(tmp_path, "", sun + shade)
    assert lineage.branches["trunk"].blooms == {2026: Bloom((0, 0, 2, 0, 0, 0, 0))}


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("{id: a, from: a}", "branch 'a' grows from itself; allowed: b, trunk"),
        ("{id: b}", "branch 'b' is given twice: two tags alike; give each branch its own tag"),
        ("{id: a, from: bb}", "branch 'a' grows from 'bb', which is unknown; did you mean b?"),
        ("{id: a, from: b, since: 2020}",
         "branch 'a' is of 2020, older than 'b' of 2022; allowed: 2022 or later"),
        ("{id: a, since: soon}", "branches.0.since"),
    ],
)  # fmt: skip
def test_one_mistake_in_a_branch_of_the_collection(tmp_path: Path, line: str, message: str) -> None:
    _, problems = told(tmp_path, f"    branches:\n      - {{id: b, since: 2022}}\n      - {line}\n")
    (problem,) = problems
    if message.startswith("branches."):
        message = "since is 'soon', not a season; allowed: the year in which its spring starts, such as 2027"
    assert str(problem) == f"collection.yaml:9: {message}"


def test_branches_in_a_circle_and_cuttings_that_do_not_fit(tmp_path: Path) -> None:
    _, problems = told(
        tmp_path,
        """\
    branches:
      - {id: a, from: b}
      - {id: b, from: a}
      - {id: c, since: 2026}
    cuttings:
      - {id: c7, branch: c, taken: 2024-07-01, count: 8}
      - {id: c, branch: d, taken: 2026-07-01, count: 8}
      - {id: c8, branch: a, taken: 2026-07-01, count: few}
""",
    )
    # pydantic does not look at a tree as a whole before its parts are right
    assert [str(p) for p in problems] == [
        "collection.yaml:14: count is 'few', not a whole number; allowed: 1 to 100000"
    ]
    (tmp_path / "collection.yaml").write_text(
        (tmp_path / "collection.yaml").read_text(encoding="utf-8").replace("count: few", "count: 3"),
        encoding="utf-8",
    )
    _, _, problems = read_collection(tmp_path)
    assert [str(p) for p in problems] == [
        "collection.yaml:8: branches in a circle: a from b from a; each grows from one nearer the trunk",
        "collection.yaml:9: branches in a circle: b from a from b; each grows from one nearer the trunk",
        "collection.yaml:12: batch 'c7' was taken on 2024-07-01, before its branch grew in 2025; "
        "a cutting is no older than its branch",
        "collection.yaml:13: batch 'c' is of branch 'd', which is unknown; allowed: a, b, c, trunk",
        "collection.yaml:13: the label 'c' is on another batch or branch; give each batch its own label",
    ]


@pytest.mark.parametrize(
    ("entry", "message"),
    [
        ("branch: left-1, flowers: {stripped: 3}", "unknown form of flower 'stripped'; did you mean striped?"),  # noqa: E501
        ("branch: left-1, flowers: {blue: 3}", f"unknown form of flower 'blue'; {FORMS}"),
        ("branch: left-3, flowers: {solid: 3}", "unknown branch 'left-3' of t; did you mean left-2?"),
        ("branch: left-1, flowers: {solid: few}",
         "flowers.solid is 'few', not a whole number; allowed: 1 to 100000"),
        ("branch: left-1, flowers: {solid: 0}", "flowers.solid is '0'; allowed: 1 to 100000"),
        ("branch: left-1", "branch without flowers or grows or lost or cuttings or photo or note; "
         "needed: flowers or grows or lost or cuttings or photo or note in the same entry"),
        ("branch: new, grows: {from: new}", "branch 'new' grows from itself; allowed: the branch nearer the trunk"),  # noqa: E501
        ("branch: new, grows: {from: left-3}", "branch 'new' grows from 'left-3', which is unknown; "
         "did you mean left-2?"),
        ("branch: left-2, grows: {from: trunk}",
         "branch 'left-2' of t is described twice: two tags alike; give each branch its own tag"),
        ("branch: new, grows: {from: left-2, since: 2019}",
         "branch 'new' is of 2019, older than 'left-2' of 2025; allowed: 2025 or later"),
        ("branch: left-1, cuttings: {batch: c7, count: 2}",
         "the label 'c7' is on another batch or branch; give each batch its own label"),
        ("batch: c8, young: rooted", "unknown batch 'c8' of t; allowed: c7"),
        ("batch: c7, plant: 9, flowers: {solid: 1}", "plant 9 of batch 'c7', which has 8; allowed: 1 to 8"),
        ("batch: c7, flowers: {solid: 1}", "flowers of batch 'c7' without the plant's number; needed: plant, 1 to 8"),  # noqa: E501
        ("batch: c7, young: rooted, count: 11", "11 plants of batch 'c7', which has 8; allowed: 1 to 8"),
        ("plant: 2, flowers: {solid: 1}", "plant without batch; needed: batch in the same entry"),
        ("branch: left-1, full_sun: yes, note: x",
         "full_sun without flowers; needed: flowers in the same entry"),
    ],
)  # fmt: skip
def test_one_mistake_in_a_note(tmp_path: Path, entry: str, message: str) -> None:
    _, problems = told(tmp_path, BRANCHES, f"# notes\n- {{date: 2026-05-20, tree: t, {entry}}}\n")
    unsaid = [str(p) for p in problems if "the entry says nothing" not in p.what]
    assert unsaid == [f"journal/n.yaml:2: {message}"]


@pytest.mark.parametrize(
    ("day", "entry", "message"),
    [
        ("2023-05-20", "branch: left-1, flowers: {solid: 3}",
         "flowers of 2023 on branch 'left-1', which could first flower in 2024; allowed: 2024 or later"),
        ("2024-05-20", "branch: left-1, flowers: {solid: 3}", None),
        ("2027-05-20", "branch: left-2, flowers: {solid: 3}",
         "flowers of 2027 on branch 'left-2', which was lost in 2026; allowed: 2026 or earlier"),
        ("2023-06-20", "branch: left-2, cuttings: {batch: c9, count: 2}",
         "batch 'c9' was taken in 2023, before its branch grew in 2024; a cutting is no older than its branch"),  # noqa: E501
        ("2024-06-20", "branch: left-2, cuttings: {batch: c9, count: 2}", None),
        ("2024-09-20", "batch: c7, plant: 1, flowers: {solid: 1}",
         "flowers of batch 'c7' in 2024, the season it was taken in; "
         "allowed: 2025 or later, on the wood grown since"),
        ("2023-09-20", "batch: c7, young: rooted",
         "batch 'c7' is noted in 2023, before it was taken in 2024; allowed: 2024 or later"),
    ],
)  # fmt: skip
def test_notes_out_of_season(tmp_path: Path, day: str, entry: str, message: str | None) -> None:
    lost = "- {date: 2026-06-22, tree: t, branch: left-2, lost: cut}\n"
    _, problems = told(tmp_path, BRANCHES, f"{lost}- {{date: {day}, tree: t, {entry}}}\n")
    assert [str(p) for p in problems] == ([f"journal/n.yaml:2: {message}"] if message else [])


def test_all_mistakes_at_once(tmp_path: Path) -> None:
    _, problems = told(
        tmp_path, BRANCHES,
        "- {date: 2026-05-20, tree: t, branch: left-1, flowers: {blue: 3, stripped: 1}}\n"
        "- {date: 2026-05-20, tree: t, branch: left-9, lost: dead}\n",
    )  # fmt: skip
    assert len(problems) == 3


def test_a_tree_without_forms_of_flower(tmp_path: Path) -> None:
    (tmp_path / "collection.yaml").write_text(SITE.replace("satsuki-azalea", "japanese-maple"))
    collection, _, _ = read_collection(tmp_path)
    assert collection is not None
    (tmp_path / "journal").mkdir()
    (tmp_path / "journal" / "n.yaml").write_text("- {date: 2026-05-20, tree: t, flowers: {red: 3}}\n")
    _, problems = gather(collection, read_journal(tmp_path)[0], RULEBOOK)
    assert [str(p) for p in problems] == [
        "journal/n.yaml:1: no forms of flower are known of japanese-maple; give its pack a ladder of forms"
    ]


def test_entries_about_a_branch_that_hang_on_the_season_south_of_the_equator(tmp_path: Path) -> None:
    """November is spring there: the season of the year it began in."""
    south = SITE.replace("latitude: 50.8", "latitude: -38.0")
    (tmp_path / "collection.yaml").write_text(south)
    collection, _, _ = read_collection(tmp_path)
    assert collection is not None
    (tmp_path / "journal").mkdir()
    (tmp_path / "journal" / "n.yaml").write_text(
        "- {date: 2026-11-20, tree: t, flowers: {solid: 3}}\n- {date: 2027-01-03, tree: t, flowers: {solid: 5}}\n"  # noqa: E501
    )
    found, problems = gather(collection, read_journal(tmp_path)[0], RULEBOOK)
    assert problems == []
    assert found["satsuki-azalea"][0].branches["trunk"].blooms == {2026: Bloom((0, 0, 0, 0, 0, 0, 5))}
