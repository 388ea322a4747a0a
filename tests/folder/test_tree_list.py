"""A grower's own list of trees: any order of columns, plain words, every cell that cannot be read named."""

from pathlib import Path

import openpyxl
import pytest

from care_planner.folder.lists.kinds import taxon_of
from care_planner.folder.lists.list_days import list_day
from care_planner.folder.lists.read_sheet import read_sheet
from care_planner.folder.lists.trees import tree_list

TAXA = {
    "satsuki-azalea": ("Satsuki azalea", "Rhododendron indicum"),
    "korean-azalea": ("Korean azalea", "Rhododendron mucronulatum"),
    "japanese-maple": ("Japanese maple", "Acer palmatum"),
}
GERMAN = (
    "Health;Kind;Tree;Where;Pot (litres);Repotted;Wire\n"
    "good;Satsuki;Große Alte;Südbeet;12,5;20.3.2024;x\n"
    ";Acer palmatum;;Nordwand;7 l;;no\n"
)


def listed(path: Path, content: bytes):  # type: ignore[no-untyped-def]
    path.write_bytes(content)
    sheet, problems = read_sheet(path)
    assert sheet is not None, problems
    return tree_list(sheet, TAXA)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_semicolons_umlauts_and_decimal_commas(tmp_path: Path, encoding: str) -> None:
    found, problems = listed(tmp_path / "list.csv", GERMAN.encode(encoding))
    assert problems == []
    first, second = found.trees
    assert first == {
        "condition": "strong",
        "taxon": "satsuki-azalea",
        "id": "grosse-alte",
        "bench": "Südbeet",
        "pot": {"litres": "12.5"},
        "last_repot": {"date": "2024-03-20"},
        "wired": "yes",
        "name": "Große Alte",
    }
    assert second["id"] == "japanese-maple-01" and second["pot"] == {"litres": "7"}
    assert found.benches() == ["Südbeet", "Nordwand"]


def test_excels_own_file_reads_like_its_csv(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for row in GERMAN.splitlines():
        book.active.append(row.split(";"))
    book.save(tmp_path / "list.xlsx")
    sheet, problems = read_sheet(tmp_path / "list.xlsx")
    assert sheet is not None and problems == []
    csv, _ = listed(tmp_path / "list.csv", GERMAN.encode())
    assert tree_list(sheet, TAXA) == (csv, [])


def test_every_cell_that_cannot_be_read_is_named_with_its_row(tmp_path: Path) -> None:
    head = "tree,species,age,repotted,flowers in\n"
    text = f"{head}a,azalea,younger,last spring,May\nb,Acer palmatum,young,,\nb,,old,3/4/2025,\nc,palm,,,\n"
    found, problems = listed(tmp_path / "list.csv", text.encode())
    assert [str(problem) for problem in problems] == [
        "list.csv:2: age is 'younger'; did you mean young?",
        "list.csv:2: repotted is 'last spring', not a date; allowed: a date such as 2027-03-01",
        "list.csv:2: species 'azalea' can be: satsuki-azalea, korean-azalea; name one of these",
        "list.csv:3: tree b stands in the list twice; give each tree its own id",
        "list.csv:4: repotted is '3/4/2025', not a date; allowed: a date such as 2027-03-01",
        "list.csv:4: the kind of this tree is empty; one of: japanese-maple, korean-azalea, satsuki-azalea",
        "list.csv:4: tree b stands in the list twice; give each tree its own id",
        "list.csv:5: there are no rules for the species 'palm'; allowed: japanese-maple, korean-azalea, "
        "satsuki-azalea. Or leave the row out",
    ]
    assert found.left_out == ("flowers in",)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "list.csv:1: the table is empty"),
        (b"tree,age\na,young\n", "list.csv:1: no column says of what kind a tree is"),
        (b"kind,species\na,b\n", "list.csv:1: columns 'kind' and 'species' both mean taxon"),
        (b"kind\na,b\n", "list.csv:2: 2 cells under 1 headings"),
        (b'kind\n"a\n', "list.csv: cannot be read as a table"),
    ],
)
def test_a_table_that_is_none(tmp_path: Path, content: bytes, said: str) -> None:
    (tmp_path / "list.csv").write_bytes(content)
    sheet, problems = read_sheet(tmp_path / "list.csv")
    if sheet is not None:
        _, problems = tree_list(sheet, TAXA)
    assert str(problems[0]).startswith(said)


def test_a_broken_excel_file_is_a_problem(tmp_path: Path) -> None:
    (tmp_path / "list.xlsx").write_bytes(b"PK\x03\x04 and nothing more")
    sheet, problems = read_sheet(tmp_path / "list.xlsx")
    assert sheet is None and "cannot be read as a table" in str(problems[0])


def test_kinds_by_part_of_their_name() -> None:
    assert taxon_of("Satsuki", TAXA) == ["satsuki-azalea"]
    assert taxon_of("maples", TAXA) == ["japanese-maple"]
    assert taxon_of("azalea", TAXA) == ["satsuki-azalea", "korean-azalea"]
    assert taxon_of("rhododendron indicum", TAXA) == ["satsuki-azalea"]
    assert taxon_of("palm", TAXA) == []


@pytest.mark.parametrize(
    ("cell", "read", "told"),
    [
        ("20.3.25", "2025-03-20", ""),
        ("25/3/2025", "2025-03-25", ""),
        ("20 March 2025", "2025-03-20", ""),
        ("20. März 2025", "2025-03-20", ""),
        ("Mar 20, 2025", "2025-03-20", ""),
        ("2025-03", "2025-03-15", "a month alone is read as its 15th"),
        ("Okt. 2025", "2025-10-15", "a month alone is read as its 15th"),
        ("2025", "2025-03-20", "a year alone is read as 20 March of it"),
        ("spring 2025", "2025-03-20", "a year alone is read as 20 March of it"),
        ("3/4/2025", "3/4/2025", ""),
        ("13/2025", "13/2025", ""),
        ("last year", "last year", ""),
    ],
)
def test_days_as_people_write_them(cell: str, read: str, told: str) -> None:
    assert list_day(cell) == (read, told)


def test_a_year_alone_is_spring_in_the_south_too() -> None:
    assert list_day("2025", south=True) == ("2025-09-20", "a year alone is read as 20 September of it")


def test_a_list_as_a_grower_keeps_it(tmp_path: Path) -> None:
    text = (
        "Nr.;Name;Art;Where it stands;In winter;Alter;Last repotted;Remarks\n"
        "1;Große Azalee;satsuki;Hof;Hof;25;2024;x\n2;Weiße;satsuki;Hof;Kalthaus;jung;n/a;\n"
    )
    found, problems = listed(tmp_path / "list.csv", text.encode())
    assert problems == []
    big, white = found.trees
    assert (big["id"], big["name"], big["age"]) == ("grosse-azalee", "Große Azalee", "established")
    assert big["bench"] == "Hof" and "winter_bench" not in big, "it stays where it stands"
    assert (white["winter_bench"], white["age"], "last_repot" in white) == ("Kalthaus", "young", False)
    assert found.left_out == ("Nr.", "Remarks")
    assert found.read_as == (
        "Alter: years are read as established from 10 on, as young below (row 2)",
        "Last repotted: a year alone is read as 20 March of it (row 2)",
    )


def test_a_number_names_a_tree_where_nothing_else_does(tmp_path: Path) -> None:
    found, problems = listed(tmp_path / "list.csv", b"No,Kind\n7,satsuki\n8,satsuki\n")
    assert problems == [] and [tree["id"] for tree in found.trees] == ["7", "8"]


def test_words_read_as_others_are_told(tmp_path: Path) -> None:
    text = "Tree,Kind,Health,Age\na,satsuki,good,mature\nb,satsuki,good,young\n"
    found, problems = listed(tmp_path / "list.csv", text.encode())
    assert problems == []
    assert found.read_as == (
        "Health: 'good' is read as strong (rows 2, 3)",
        "Age: 'mature' is read as established (row 2)",
    )


def test_the_pot_and_the_crown_are_taken_and_a_soil_that_is_neither_stops_nothing(tmp_path: Path) -> None:
    text = "Tree;Kind;Pot width;Soil mix;Crown width\na;satsuki;40 cm;kanuma;55\nb;satsuki;;sand;\n"
    found, problems = listed(tmp_path / "list.csv", text.encode())
    assert problems == [] and found.left_out == ()
    first, second = found.trees
    assert first["pot"] == {"width_cm": "40", "soil": "granules"} and first["crown_cm"] == "55"
    assert "pot" not in second
    assert "Soil mix: 'kanuma' is read as granules (row 2)" in found.read_as
    assert "Soil mix: 'sand' is left out: neither granules nor peat alone (row 3)" in found.read_as


def test_a_cultivar_behind_the_kind_and_initials_are_read_and_a_slip_is_guessed(tmp_path: Path) -> None:
    taxa = {**TAXA, "japanese-black-pine": ("Japanese black pine", "Pinus thunbergii")}
    text = "Tree,Kind\na,Acer palmatum 'Deshojo'\nb,JBP\nc,Acper palmatum 'X'\n"
    (tmp_path / "list.csv").write_text(text, encoding="utf-8")
    sheet, _ = read_sheet(tmp_path / "list.csv")
    assert sheet is not None
    found, problems = tree_list(sheet, taxa)
    assert [tree.get("taxon") for tree in found.trees] == ["japanese-maple", "japanese-black-pine", None]
    assert found.read_as == (
        "Kind: the name in quotes is left out of \"Acer palmatum 'Deshojo'\" (row 2)",
        "Kind: 'JBP' is read as japanese-black-pine (row 3)",
    )
    assert [problem.allowed for problem in problems] == ["did you mean japanese-maple? Or leave the row out"]
