"""`care-planner learned`: what notes taught, in words."""

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from care_planner.cli import main

PROJECT = Path(__file__).parents[2]
COLLECTION = """\
site: {latitude: 37.75, longitude: 128.89, timezone: Asia/Seoul, weather: weather.csv.gz}
benches: {open: {}}
trees:
  - {id: early, taxon: satsuki-azalea, bench: open, age: established}
  - {id: quiet, taxon: satsuki-azalea, bench: open, age: established}
  - {id: off, taxon: satsuki-azalea, bench: open, age: established, learn: no}
  - {id: maple, taxon: japanese-maple, bench: open, age: established}
"""
NOTES = """\
- {date: 2021-05-06, tree: early, saw: first-flower}
- {date: 2022-05-08, tree: early, saw: first-flower}
- {date: 2023-05-02, tree: early, saw: first-flower}
- {date: 2020-04-12, tree: early, saw: first-flower}
- {date: 2019-05-01, tree: early, saw: first-flower, learn: no}
- {date: 2024-05-10, tree: early, saw: first-flower}
- {date: 2023-05-02, tree: off, saw: first-flower}
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copy(PROJECT / "examples/gangneung/weather.csv.gz", tmp_path)
    (tmp_path / "collection.yaml").write_text(COLLECTION, encoding="utf-8")
    (tmp_path / "journal").mkdir()
    (tmp_path / "journal" / "notes.yaml").write_text(NOTES, encoding="utf-8")
    return tmp_path


def learned(folder: Path, *args: str) -> Result:
    return CliRunner().invoke(main, ["learned", str(folder), *args, "--today", "2024-06-01"])


def words(result: Result) -> str:
    assert result.exit_code == 0, result.output
    assert all(len(line) <= 80 for line in result.output.splitlines())
    return " ".join(result.output.split())


def test_pace_number_of_notes_and_spread_are_told(folder: Path) -> None:
    told = words(learned(folder))
    assert "early: first flower open 2024 5 days early (80 %: 9 days early to 0 days late)" in told
    assert "from 4 notes of 4 seasons" in told
    assert "without notes of their own (1): first flower open 2024 2 days early" in told
    assert "learning is off: off" in told
    assert (
        "japanese-maple Trees of this taxon differ by about 10% in the warmth they need. no notes yet" in told
    )


def test_notes_that_do_not_fit_or_do_not_count_are_named_with_their_lines(folder: Path) -> None:
    told = words(learned(folder))
    assert "does not fit the rest: early, first flower open on 12 Apr 2020," in told
    assert "it counts for little (journal/notes.yaml:4)" in told
    assert "early: nothing learned from 1 note, as noted (journal/notes.yaml:5)" in told
    assert "nothing learned from 1 note, since the weather of those days is not in the record" in told
    assert "the first is first flower open on 10 May 2024 (journal/notes.yaml:6)" in told


def test_one_tree_is_told_note_by_note(folder: Path) -> None:
    told = words(learned(folder, "early"))
    assert "first flower open on 6 May 2021: 8 days early (journal/notes.yaml:1)" in told
    assert "quiet" not in told


def test_an_unknown_tree_is_a_mistake(folder: Path) -> None:
    result = learned(folder, "erly")
    assert (result.exit_code, result.stderr) == (2, "TREE: unknown tree 'erly'; did you mean early?\n")


def test_monthly_means_teach_nothing_and_say_so(folder: Path) -> None:
    means = "{monthly: {tmin_c: [-3, -1, 3, 9, 14, 18, 21, 22, 17, 11, 5, -1], "
    means += "tmax_c: [5, 7, 12, 18, 23, 25, 28, 29, 25, 20, 13, 7]}}"
    text = (folder / "collection.yaml").read_text(encoding="utf-8").replace("weather.csv.gz", means)
    (folder / "collection.yaml").write_text(text, encoding="utf-8")
    assert "nothing: the weather is twelve monthly means" in words(learned(folder))


def test_a_note_taken_back_teaches_nothing_any_more(folder: Path) -> None:
    notes = folder / "journal" / "notes.yaml"
    text = NOTES.replace("{date: 2020", "{id: slip, date: 2020") + "- {date: 2024-05-11, takes_back: slip}\n"
    notes.write_text(text, encoding="utf-8")
    told = words(learned(folder))
    assert "does not fit" not in told and "from 3 notes of 3 seasons" in told


def test_no_learning_is_refused_where_nothing_would_be_learned(folder: Path) -> None:
    args = ["note", str(folder), "early", "did repot", "--no-learning", "--today", "2024-06-01"]
    result = CliRunner().invoke(main, args)
    assert result.exit_code == 2
    assert result.stderr == (
        "WHAT: --no-learning with what nothing is learned from; "
        "allowed: with what was seen, such as first-flower\n"
    )
    assert (folder / "journal" / "notes.yaml").read_text(encoding="utf-8") == NOTES
    assert [path.name for path in (folder / "journal").glob("*.yaml")] == ["notes.yaml"]


def test_a_bloom_remembered_from_the_future_is_a_mistake(folder: Path) -> None:
    text = COLLECTION.replace("id: early,", "id: early, remembered_bloom: {2199: 2199-05-20},")
    (folder / "collection.yaml").write_text(text, encoding="utf-8")
    result = learned(folder)
    assert result.exit_code == 2
    assert result.stderr.startswith(
        "collection.yaml:4: remembered_bloom of 2199 is dated 2199-05-20, which is"
    )
    assert "; allowed: 20" in result.stderr


def test_a_tree_that_is_not_to_be_learned_from_says_so(folder: Path) -> None:
    told = words(learned(folder, "off"))
    assert told.endswith("off: learning is off, its taxon's own pace")


def test_why_says_that_notes_moved_a_stage(folder: Path) -> None:
    args = ["why", str(folder), "early", "tag-colours", "--today", "2024-01-10"]
    told = words(CliRunner().invoke(main, args))
    assert ". By its notes and its neighbours' it needs 7% less warmth than its kind" in told


def test_a_tree_and_its_taxon_tell_the_same_where_nothing_was_noted(folder: Path) -> None:
    words_of_taxon = "no notes yet, so the pace of its kind"
    assert f"{words_of_taxon} (1)" in words(learned(folder))
    assert words(learned(folder, "maple")).endswith(f"maple: {words_of_taxon}")
    assert "quiet: first flower open 2024 2 days early" in words(learned(folder, "quiet"))
    assert "from its neighbours' notes" in words(learned(folder, "quiet"))
