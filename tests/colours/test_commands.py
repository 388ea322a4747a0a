"""`colours`, `cuttings`, `check` and notes of branches, from the files to what is printed."""

import re
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


TABLE = """\

t: white ground likely
branch   2024    2025  still gives           what to do
left-1   W12 S3        white ground likely,  KEEP; light for low and inside
                       solid sure
right-1  D25     D22   solid only            dark for high and outside
top                    white ground          not yet seen: do not cut
                       perhaps, heavily
                       striped likely,
                       solid sure
  photo of left-1: photos/l1.jpg
  look at in bloom 2026, the least known first: top, left-1 and right-1
  variety: white ground, its lightest form, likely: it can carry the name
  batch c6: 6 of right-1, taken in 2023
    look at their first flowers in 2026: 4 not yet seen
    plant 1: grow on: white ground perhaps, by 4 flowers
    plant 2: grow on: white ground likely, by 4 flowers; CHECK 2025: lighter
      than the rest says

letters, lightest first: W white ground, S striped, D solid; the number: about
  how many flowers
sure: true in 98 of 100 or more; likely: in half or more; perhaps: less; hardly:
  less than one in 20
Satsuki azalea: this rests on 5 notes of 70 flowers. A branch that every year
  shows few flowers of its lightest form looks like a darker one: no count of
  flowers can tell them apart. Before the last of its kind is cut, look at all
  of its flowers.
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


def test_the_table(folder: Path) -> None:
    done = run("colours", folder, "t", "--today", "2026-05-01")
    assert done.exit_code == 0, done.output
    assert done.output == TABLE


def test_numbers_and_terms_on_demand(folder: Path) -> None:
    plain = flat(run("colours", folder, "t", "--today", "2026-05-01"))
    assert "%" not in plain and "shiromuji" not in plain
    done = run("colours", folder, "t", "--today", "2026-05-01", "--numbers", "--terms")
    assert max(map(len, done.output.splitlines())) <= 80
    text = flat(done)
    for part in (
        "W white ground (shiromuji)",
        "no such number has been published",
        "solid only (lighter ",
        "This rests on 5 notes of 70 flowers",
    ):
        assert part in text, part
    assert re.search(r"KEEP \d+%; light for low and inside", text)


def test_one_line_for_all_trees_first_and_only_lines_for_many(folder: Path) -> None:
    done = run("colours", folder, "--today", "2026-05-01")
    assert flat(done).startswith(
        "1 tree with 3 tags: 1 branch must stay, 1 doubtful note to check, 3 branches to look at in bloom t: "
    )
    text = (folder / "collection.yaml").read_text(encoding="utf-8")
    more = "".join(
        f"  - {{id: m{i:02}, taxon: satsuki-azalea, bench: open, branches: [{{id: a}}]}}\n" for i in range(10)
    )
    (folder / "collection.yaml").write_text(text + more, encoding="utf-8")
    lines = run("colours", folder, "--today", "2026-05-01").output.splitlines()
    assert lines[0].startswith("11 trees with 13 tags: 1 branch must stay")
    assert "m00: not yet seen in flower" in lines
    assert any(line.startswith("t: white ground likely; KEEP left-1; CHECK c6 2025") for line in lines)
    assert not any(line.startswith("branch ") for line in lines)


def test_the_other_half_of_a_table_too_wide_for_80_columns_is_told(folder: Path) -> None:
    with (folder / "journal" / "notes.yaml").open("a", encoding="utf-8") as file:
        for year in (2022, 2023):
            seen = "{solid: 25, white centre: 12, striped: 3}"
            file.write(f"- {{date: {year}-05-28, tree: t, branch: right-1, flowers: {seen}}}\n")
    done = run("colours", folder, "t", "--today", "2026-05-01")
    assert max(map(len, done.output.splitlines())) <= 80
    assert "also noted, and counted: 2022" in flat(done)


def test_cuttings(folder: Path) -> None:
    done = run("cuttings", folder, "--today", "2024-07-01", "--want", "2", "--risk", "0.3")
    assert done.exit_code == 0, done.output
    assert max(map(len, done.output.splitlines())) <= 80
    text = flat(done)
    for part in (
        "Accepted risk 30%",
        "cuttings of left-1 for 2 plants that can still give white ground (one keeps it: likely)",
        "right-1: not for cuttings; one keeps white ground: perhaps",
        "batch c6: 6 of right-1, taken in 2023",
        "look at their first flowers in 2024: 6 not yet seen",
    ):
        assert part in text, part


def test_young_plants_with_the_caution(folder: Path) -> None:
    text = flat(run("cuttings", folder, "--today", "2026-05-01", "--risk", "0.3"))
    for part in (
        "plant 1: give away, without the variety's name: white ground perhaps, by 4 flowers",
        "plant 2: grow on: white ground likely, by 4 flowers; CHECK 2025: lighter than the rest says",
        "ask the plant-health authority first",
    ):
        assert part in text, part


def test_the_accepted_risk_is_one_setting_of_the_collection(folder: Path) -> None:
    text = (folder / "collection.yaml").read_text(encoding="utf-8")
    (folder / "collection.yaml").write_text(f"risk: {{colours: 0.3}}\n{text}", encoding="utf-8")
    assert "plant 1: give away" in flat(run("cuttings", folder, "--today", "2026-05-01"))
    assert "plant 1: give away" in flat(run("colours", folder, "--today", "2026-05-01"))
    work = "Give away plants, young ones that lost the range: t"
    assert work in flat(run("plan", folder, "--today", "2026-05-01", "--all"))
    assert "plant 1: grow on" in flat(run("cuttings", folder, "--today", "2026-05-01", "--risk", "0.05"))
    (folder / "collection.yaml").write_text(text, encoding="utf-8")
    assert work not in flat(run("plan", folder, "--today", "2026-05-01", "--all"))


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


def test_a_note_says_of_which_branch_it_is(folder: Path) -> None:
    (line,) = note(folder, ("t/top",), "flowers solid 2", DAY, DAY, sure=False)
    assert line.startswith("noted on 2026-05-28: flowers solid 2: t/top (")
    (line,) = note(folder, ("t/c6/3",), "flowers solid 2", DAY, DAY, sure=False)
    assert line.startswith("noted on 2026-05-28: flowers solid 2: t/c6/3 (")


def test_noting_flowers_of_a_branch(folder: Path) -> None:
    note(folder, ("t/top",), 'flowers "white ground 12, striped 3"', DAY, DAY, sure=False)
    note(folder, ("t/top-2",), "grows from top since 2026, high", DAY, DAY, sure=False)
    note(folder, ("t/top-2",), "flowers solid 2", DAY, DAY, sure=False)
    note(folder, ("t/c6/3",), "flowers self 1", DAY, DAY, sure=False)
    note(folder, ("t/c6",), "rooted 5", DAY, DAY, sure=False)
    note(folder, ("t/right-1",), "cut", DAY, DAY, sure=False)
    written = (folder / "journal" / "notes-2026.yaml").read_text(encoding="utf-8")
    assert "branch: top, flowers: {white-ground: 12, striped: 3}" in written
    lines = run("colours", folder, "t", "--today", "2026-06-01").output.splitlines()
    assert any(line.startswith("top ") and "W12 S3" in line for line in lines)
    assert any(line.startswith("  top-2 ") and "D2" in line for line in lines)
    assert any(line.startswith("right-1 ") and "gone since 2026" in line for line in lines)


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


def test_a_risk_that_cannot_be_is_named_with_what_is_allowed(folder: Path) -> None:
    text = (folder / "collection.yaml").read_text(encoding="utf-8")
    (folder / "collection.yaml").write_text(f"risk: {{colours: 0.9}}\n{text}", encoding="utf-8")
    done = run("check", folder)
    assert done.exit_code == 2
    assert done.output == "collection.yaml:1: risk.colours is '0.9'; allowed: above 0 to 0.5, or 50%\n"
