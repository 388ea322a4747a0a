"""`colours`, `cuttings`, `check` and notes of branches, from the files to what is printed."""

from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from care_planner.cli import main
from care_planner.note.take import note
from care_planner.problems import ProblemsFound

MONTHLY = "{monthly: {tmin_c: [1, 1, 3, 5, 9, 12, 14, 14, 11, 8, 4, 2], tmax_c: [6, 7, 11, 15, 19, 21, 23, 23, 20, 15, 10, 7]}}"  # noqa: E501
COLLECTION = f"""\
site: {{name: Yard, latitude: 50.8, longitude: 4.4, elevation_m: 60, timezone: Europe/Brussels,
       weather: {MONTHLY}}}
benches: {{open: {{}}}}
trees:
  - id: t
    taxon: satsuki-azalea
    bench: open
    variety: {{forms: [white-ground, striped, solid]}}
    branches:
      - {{id: left-1, since: 2022, height: low, depth: inside}}
      - {{id: right-1, since: 2022, height: high, depth: outside}}
      - {{id: top, since: 2023}}
    cuttings: [{{id: c6, branch: right-1, taken: 2023-07-05, count: 6}}]
  - {{id: other, taxon: satsuki-azalea, bench: open}}
  - {{id: pine, taxon: japanese-black-pine, bench: open}}
"""
JOURNAL = """\
- {date: 2024-05-28, tree: t, branch: left-1, flowers: {white ground: 12, striped: 3}, photo: photos/l1.jpg}
- {date: 2024-05-28, tree: t, branch: right-1, flowers: {solid: 25}}
- {date: 2025-05-28, tree: t, branch: right-1, flowers: {solid: 22}}
- {date: 2025-05-30, tree: t, batch: c6, plant: 1, flowers: {solid: 4}}
- {date: 2025-05-30, tree: t, batch: c6, plant: 2, flowers: {white: 4}}
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "collection.yaml").write_text(COLLECTION, encoding="utf-8")
    (tmp_path / "journal").mkdir()
    (tmp_path / "journal" / "notes.yaml").write_text(JOURNAL, encoding="utf-8")
    return tmp_path


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def flat(result: Result) -> str:
    return " ".join(result.output.split())


def test_colours(folder: Path) -> None:
    done = run("colours", folder, "t", "--today", "2026-05-01")
    assert done.exit_code == 0, done.output
    assert max(map(len, done.output.splitlines())) <= 80
    text = flat(done)
    for part in (
        "This rests on 5 notes of 70 flowers and on a wide starting belief; no rate has been published.",
        "left-1 from trunk, since 2022 (low, inside)",
        "(from 15 flowers) 2024: white ground 12, striped 3 photo photos/l1.jpg",
        "Unusual, check the tag c6 plant 2, 2025: white ground",
        "left-1: with it the tree would lose white ground for good",
        "Not yet seen in flower: wait with cutting top",
        "To tag in season 2026, the least known first [ ] top",
        "left-1: light for low and inside; it stays all the same, see above",
        "can give white ground, the lightest of its variety",
    ):
        assert part in text, part


def test_cuttings(folder: Path) -> None:
    done = run("cuttings", folder, "--today", "2026-05-01", "--want", "2", "--risk", "0.3")
    assert done.exit_code == 0, done.output
    assert max(map(len, done.output.splitlines())) <= 80
    text = flat(done)
    for part in (
        "Accepted risk 30%",
        "cuttings of left-1 for 2 plants that can still give white ground",
        "batch c6: 6 of right-1, taken in 2023",
        "look at the first flowers of batch c6: 4 not yet seen",
        "plant 1: give away, without the variety's name: keeps white ground",
        "plant 2: keep: keeps white ground",
        "ask the plant-health authority first",
    ):
        assert part in text, part


def test_nothing_noted_and_an_unknown_tree(folder: Path) -> None:
    assert flat(run("colours", folder, "pine")).startswith("No branches, flowers or cuttings are noted yet.")
    done = run("colours", folder, "tt")
    assert done.exit_code == 2
    assert "TREE: unknown tree 'tt'; " in done.output


@pytest.mark.parametrize("command", ["check", "colours", "cuttings", "plan"])
def test_mistakes_in_notes_stop_every_command(folder: Path, command: str) -> None:
    (folder / "journal" / "more.yaml").write_text(
        "- {date: 2024-05-28, tree: t, branch: left-9, flowers: {solid: 1}}\n"
        "- {date: 2024-05-28, tree: t, branch: top, flowers: {sollid: 1}}\n",
        encoding="utf-8",
    )
    done = run(command, folder)
    assert done.exit_code == 2
    assert done.output.splitlines() == [
        "journal/more.yaml:1: unknown branch 'left-9' of t; did you mean left-1?",
        "journal/more.yaml:2: unknown form of flower 'sollid'; did you mean solid?",
    ]


DAY = date(2026, 5, 28)


def test_noting_flowers_of_a_branch(folder: Path) -> None:
    note(folder, ("t/top",), 'flowers "white ground 12, striped 3"', DAY, DAY, sure=False)
    note(folder, ("t/top-2",), "grows from top since 2026, high", DAY, DAY, sure=False)
    note(folder, ("t/top-2",), "flowers solid 2", DAY, DAY, sure=False)
    note(folder, ("t/c6/3",), "flowers self 1", DAY, DAY, sure=False)
    note(folder, ("t/c6",), "rooted 5", DAY, DAY, sure=False)
    note(folder, ("t/right-1",), "cut", DAY, DAY, sure=False)
    written = (folder / "journal" / "notes-2026.yaml").read_text(encoding="utf-8")
    assert "branch: top, flowers: {white-ground: 12, striped: 3}" in written
    text = flat(run("colours", folder, "t", "--today", "2026-06-01"))
    assert "top-2 from top, since 2026 (high)" in text
    assert "2026: white ground 12, striped 3" in text and "lost in 2026" in text


@pytest.mark.parametrize(
    ("who", "what", "message"),
    [
        ("t/tip", "flowers solid 2", "WHAT: unknown branch 'tip' of t; did you mean top?"),
        ("t/top", "flowers blue 2", "WHAT: unknown form of flower 'blue'; allowed: white ground, flecked, "
         "striped, heavily striped, coloured margin, white centre, solid"),
        ("t/top", "grows from trunk",
         "WHAT: branch 'top' of t is described twice: two tags alike; give each branch its own tag"),
        ("t/c6/7", "flowers solid 2", "WHAT: plant 7 of batch 'c6', which has 6; allowed: 1 to 6"),
    ],
)  # fmt: skip
def test_a_note_that_cannot_be_is_not_taken(folder: Path, who: str, what: str, message: str) -> None:
    with pytest.raises(ProblemsFound) as found:
        note(folder, (who,), what, DAY, DAY, sure=False)
    assert str(found.value) == message
    assert not (folder / "journal" / "notes-2026.yaml").exists()
