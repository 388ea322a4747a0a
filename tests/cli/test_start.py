"""start: from a town and a list of trees to a collection that checks, or nothing written."""

import sys
from pathlib import Path
from types import SimpleNamespace

import pytest
from click.testing import CliRunner, Result

from care_planner.cli import main
from care_planner.collection.read_collection import read_collection
from care_planner.commands import starting
from care_planner.folder import starter_answers

LIST = "Tree,Species,Where,Winter,Age\nold one,Satsuki,Süd,Schuppen,old\n,Japanese maple,Süd,,young\n"
TAXA = {
    "satsuki-azalea": ("Satsuki azalea", "Rhododendron indicum"),
    "korean-azalea": ("Korean azalea", "Rhododendron mucronulatum"),
    "japanese-maple": ("Japanese maple", "Acer palmatum"),
    "japanese-black-pine": ("Japanese black pine", "Pinus thunbergii"),
}


def start(*words: object) -> Result:
    return CliRunner().invoke(main, ["start", *map(str, words)])


def test_a_town_and_a_list_make_a_collection(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text(LIST, encoding="utf-8")
    done = start(tmp_path / "new", "--yes", "--place", "Ghent", "--trees", tmp_path / "list.csv")
    assert done.exit_code == 0, done.output
    collection, _, problems = read_collection(tmp_path / "new")
    assert problems == [] and collection is not None
    assert (collection.site.timezone, collection.site.elevation_m) == ("Europe/Brussels", 10)
    assert [(tree.id, tree.bench, tree.winter_bench, tree.age) for tree in collection.trees] == [
        ("old-one", "Süd", "Schuppen", "established"),
        ("japanese-maple-01", "Süd", None, "young"),
    ]
    assert CliRunner().invoke(main, ["check", str(tmp_path / "new")]).exit_code == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--place", "Nosuchtown"), "place 'Nosuchtown' is not known"),
        (("--place", "Newcastle"), "place 'Newcastle' can be: Newcastle, ZA-02; Newcastle, AU-02"),
        (("--place", "Ghent", "--weather", "no.csv"), "no.csv: no such weather file"),
        (("--place", "Ghent", "--trees", "no.xlsx"), "no.xlsx: no such file"),
    ],
)
def test_a_mistake_writes_nothing(tmp_path: Path, words: tuple[str, ...], said: str) -> None:
    done = start(tmp_path / "new", "--yes", *words)
    assert done.exit_code == 2 and said in done.output, done.output
    assert not (tmp_path / "new").exists()


def test_a_list_with_mistakes_writes_nothing(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text(LIST.replace("young", "younger"), encoding="utf-8")
    done = start(tmp_path / "new", "--yes", "--place", "Ghent", "--trees", tmp_path / "list.csv")
    assert done.exit_code == 2 and not (tmp_path / "new").exists()
    assert "list.csv:3: Age is 'younger'; did you mean young?\n" in done.output


def test_trees_and_days_as_people_type_them() -> None:
    trees, unclear = starter_answers.named_trees("2 satsuki, a maple and Korean azalea; palm", TAXA)
    assert unclear == ["palm"]
    assert [tree["id"] for tree in trees] == [
        *("satsuki-azalea-01", "satsuki-azalea-02", "maple-01", "korean-azalea-01"),
    ]
    assert starter_answers.named_days("Sat and sunday") == ("sat", "sun")
    assert starter_answers.named_days("weekend") == ("sat", "sun")
    assert starter_answers.named_days("every day") == starter_answers.WEEKDAYS
    assert starter_answers.named_days("someday") is None
    assert starter_answers.named_benches("terrace,  north  wall ,terrace") == ("terrace", "north wall")


def test_rough_weather_is_turned_round_in_the_south(tmp_path: Path) -> None:
    done = start(tmp_path / "new", "--yes", "--place", "Melbourne")
    assert done.exit_code == 0, done.output
    collection, _, _ = read_collection(tmp_path / "new")
    assert collection is not None
    lows = collection.site.weather.monthly.tmin_c  # type: ignore[union-attr]
    assert lows[0] > 10 and lows[6] < 5


def test_benches_that_differ_only_in_capitals_are_a_mistake(tmp_path: Path) -> None:
    start(tmp_path / "new", "--yes", "--place", "Ghent")
    path = tmp_path / "new" / "collection.yaml"
    text = path.read_text(encoding="utf-8").replace("  open: {}\n", "  open: {}\n  Open: {}\n")
    path.write_text(text, encoding="utf-8")
    _, _, problems = read_collection(tmp_path / "new")
    assert [problem.what for problem in problems] == ["benches 'open' and 'Open' differ only in capitals"]


def test_inside_a_collection_its_name_may_be_left_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    start(tmp_path / "new", "--yes", "--place", "Ghent")
    monkeypatch.chdir(tmp_path / "new")
    assert CliRunner().invoke(main, ["check"]).exit_code == 0
    monkeypatch.chdir(tmp_path)
    outside = CliRunner().invoke(main, ["plan"])
    assert outside.exit_code == 2 and "no collection.yaml in this folder" in outside.output


def test_answers_stand_in_the_collection_and_the_rest_of_it_as_before(tmp_path: Path) -> None:
    start(tmp_path / "new", "--yes", "--place", "Ghent")
    path = tmp_path / "new" / "collection.yaml"
    before = path.read_text(encoding="utf-8")
    typed = "strong, yes\nstrong all\nno all\nestablished all\n"
    done = CliRunner().invoke(main, ["answer", str(tmp_path / "new")], input=typed)
    assert done.exit_code == 0, done.output
    assert "works wait for that" in done.output and "answers written" in done.output
    collection, _, problems = read_collection(tmp_path / "new")
    assert problems == [] and collection is not None
    assert {tree.condition for tree in collection.trees} == {"strong"}
    assert "'strong, yes' is not understood; allowed: strong, weak" in done.output
    after = path.read_text(encoding="utf-8")
    assert [line for line in after.splitlines() if "{id:" not in line] == [
        line for line in before.splitlines() if "{id:" not in line
    ]


def test_an_answer_that_would_break_the_file_writes_nothing(tmp_path: Path) -> None:
    start(tmp_path / "new", "--yes", "--place", "Ghent")
    path = tmp_path / "new" / "collection.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("bench: open", "bench: opne"), encoding="utf-8")
    before = path.read_bytes()
    done = CliRunner().invoke(main, ["answer", str(tmp_path / "new")], input="established all\n")
    assert done.exit_code == 2 and path.read_bytes() == before


def test_trees_and_notes_go_out_and_come_back_without_loss(tmp_path: Path) -> None:
    example = Path(__file__).parents[2] / "examples" / "gangneung"
    for what in ("trees", "journal"):
        text = CliRunner().invoke(main, ["table", str(example), what])
        assert text.exit_code == 0, text.output
        (tmp_path / f"{what}.csv").write_text(text.output, encoding="utf-8")
    lists = ("--trees", tmp_path / "trees.csv", "--journal", tmp_path / "journal.csv")
    done = start(tmp_path / "new", "--yes", "--place", "Gangneung", *lists)
    assert done.exit_code == 0, done.output
    for what in ("trees", "journal"):
        again = CliRunner().invoke(main, ["table", str(tmp_path / "new"), what])
        assert again.output == (tmp_path / f"{what}.csv").read_text(encoding="utf-8")


def test_why_of_a_tree_alone_lists_its_works_and_takes_a_title() -> None:
    example = str(Path(__file__).parents[2] / "examples" / "gangneung")
    listed = CliRunner().invoke(main, ["why", example, "sats-01", "--today", "2027-03-01"])
    assert listed.exit_code == 0 and "(prune-after-bloom)" in listed.output
    words = ["why", example, "sats-01", "Prune after bloom", "--today", "2027-03-01"]
    by_title = CliRunner().invoke(main, words)
    assert by_title.output.startswith("sats-01: Prune after bloom (prune-after-bloom)")


def test_six_questions_and_wrong_answers_on_the_way(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    at_a_terminal = SimpleNamespace(stdin=SimpleNamespace(isatty=lambda: True), exit=sys.exit)
    monkeypatch.setattr(starting, "sys", at_a_terminal)
    typed = ["Nowhereham", "Newcastle", "3", "Terrasse, Hof", "Kalthaus", "3 palms", "2 satsuki and a maple"]
    typed += ["someday", "weekend", "no.csv", "rough"]
    words = ["start", str(tmp_path / "new"), "--today", "2027-03-01"]
    done = CliRunner().invoke(main, words, input="\n".join([*typed, ""]))
    assert done.exit_code == 0, done.output
    for said in (
        "'Nowhereham' is not known",
        "Not clear: 3 palms",
        "'someday' names no days",
        "'no.csv' is no file",
    ):
        assert said in done.output
    collection, _, problems = read_collection(tmp_path / "new")
    assert problems == [] and collection is not None
    assert collection.site.timezone == "Europe/London" and "days: [sat, sun]" in (
        tmp_path / "new" / "collection.yaml"
    ).read_text(encoding="utf-8")
    assert [(tree.id, tree.bench, tree.winter_bench, str(tree.known_from)) for tree in collection.trees] == [
        ("azalea-01", "Terrasse", "Kalthaus", "2027-03-01"),
        ("azalea-02", "Terrasse", "Kalthaus", "2027-03-01"),
        ("maple-01", "Terrasse", "Kalthaus", "2027-03-01"),
    ]


def test_check_finds_a_damaged_identity(tmp_path: Path) -> None:
    start(tmp_path / "new", "--yes", "--place", "Ghent")
    (tmp_path / "new" / "identity.txt").write_text("none of it left\n", encoding="utf-8")
    done = CliRunner().invoke(main, ["check", str(tmp_path / "new")])
    assert done.exit_code == 2
    assert done.output.startswith(
        "identity.txt:1: 'none of it left' is no identity (a UUID); restore the file"
    )


def test_a_kind_without_works_is_told_by_start_and_check(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text("Tree,Species\none,Korean azalea\n", encoding="utf-8")
    done = start(tmp_path / "new", "--yes", "--place", "Ghent", "--trees", tmp_path / "list.csv")
    checked = CliRunner().invoke(main, ["check", str(tmp_path / "new")])
    for said in (done.output, checked.output):
        assert "there are stages but no works for korean-azalea yet" in " ".join(said.split())
    assert "no works" not in CliRunner().invoke(main, ["check", "examples/gangneung"]).output


def test_answers_are_kept_as_they_are_given(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A terminal closed half-way ends the program without a word: what was answered is in the file."""
    start(tmp_path / "new", "--yes", "--place", "Ghent")
    collection, kept = tmp_path / "new" / "collection.yaml", list[str]()
    before = collection.read_text(encoding="utf-8")

    class Closed(BaseException):
        pass

    def typed(*_: object, **__: object) -> str:
        kept.append(collection.read_text(encoding="utf-8"))
        if len(kept) == 2:
            raise Closed
        return "strong"

    monkeypatch.setattr("click.prompt", typed)
    with pytest.raises(Closed):
        CliRunner().invoke(main, ["answer", str(tmp_path / "new")])
    assert kept[0] == before and kept[1].count("condition: strong") == before.count("condition: strong") + 1
