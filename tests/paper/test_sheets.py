"""Sheets as PDF: pages, words, letters of many alphabets, the same bytes; what the one for away days says."""

import os
import subprocess
import sys
from dataclasses import replace
from datetime import date
from io import BytesIO
from pathlib import Path

import pypdfium2 as pdfium
import pytest
import typst
from PIL import Image

from care_planner.folder.read_folder import Inputs, read_folder
from care_planner.journal.branch_notes import BranchNote
from care_planner.journal.model import Entry
from care_planner.plan import Plan, make_plan
from care_planner.problems import ProblemsFound
from care_planner.show.paper.away import AwayFacts, away_facts, away_sheet
from care_planner.show.paper.blocks import Block, PaperSheet, text
from care_planner.show.paper.week import hours, monday, week_sheet
from care_planner.show.paper.write_pdf import known_fonts, sheet_pdf
from care_planner.show.paper.write_sheets import SheetsWanted, newest_photograph, sheets_of, write_sheets

EXAMPLE = Path(__file__).parents[2] / "examples" / "gangneung"
TODAY = date(2027, 5, 29)
FIRST, LAST = date(2027, 6, 5).toordinal(), date(2027, 6, 14).toordinal()


@pytest.fixture(scope="module")
def inputs() -> Inputs:
    return read_folder(EXAMPLE, lambda zone: TODAY)


@pytest.fixture(scope="module")
def plan(inputs: Inputs) -> Plan:
    parts = (inputs.collection, inputs.entries, inputs.record, inputs.rulebook)
    return make_plan(*parts, TODAY.toordinal())


def pages(data: bytes) -> list[str]:
    document = pdfium.PdfDocument(data)
    return [page.get_textpage().get_text_range() for page in document]


def test_the_week_and_the_year_hold_every_work_and_every_tree(inputs: Inputs, plan: Plan) -> None:
    week, year = sheets_of(plan, inputs, SheetsWanted())
    said = " ".join(" ".join(pages(sheet_pdf(week))).split())
    first = monday(TODAY.toordinal())
    due = [t for t in plan.tasks if first <= t.day < first + 7 and t.way in ("work", "walk") and not t.left]
    assert due and all(task.title in said for task in due)
    drawn = pages(sheet_pdf(year))
    assert len(drawn) == 1  # twelve trees a page
    assert all(tree.id in drawn[0] for tree in inputs.collection.trees)


def test_thirteen_trees_need_a_second_page(inputs: Inputs, plan: Plan) -> None:
    (year,) = [sheet for sheet in sheets_of(plan, inputs, SheetsWanted()) if sheet.name.startswith("year")]
    assert [block.kind for block in year.blocks].count("break") == 0
    trees = [*inputs.collection.trees, inputs.collection.trees[0]]
    more = inputs.collection.model_copy(update={"trees": tuple(trees)})
    (year,) = [
        s
        for s in sheets_of(plan, replace(inputs, collection=more), SheetsWanted())
        if s.name.startswith("year")
    ]
    assert len(pages(sheet_pdf(year))) == 2


def photographed(folder: Path, data: bytes, inputs: Inputs) -> Inputs:
    """A copy of the inputs with a photograph of sats-02."""
    (folder / "photos").mkdir(exist_ok=True)
    (folder / "photos" / "2027-05-28-sats-02-n-aaaaaaaa.jpg").write_bytes(data)
    note = BranchNote(photo="photos/2027-05-28-sats-02-n-aaaaaaaa.jpg")
    return replace(inputs, entries=[*inputs.entries, Entry(date(2027, 5, 28), "sats-02", branch=note)])


def test_a_trees_year_is_one_page_with_its_newest_photograph(
    inputs: Inputs, plan: Plan, tmp_path: Path
) -> None:
    out = BytesIO()
    Image.new("RGB", (1200, 1600), "red").save(out, "JPEG")
    wanted, noted = SheetsWanted(tree="sats-02"), photographed(tmp_path, out.getvalue(), inputs)
    photo = newest_photograph(tmp_path, noted, "sats-02")
    assert photo.data == out.getvalue()
    (sheet,) = sheets_of(plan, noted, wanted, photo)
    made = sheet_pdf(sheet)
    assert made == sheet_pdf(sheet)
    (page,) = pages(made)
    said = " ".join(page.split())
    assert "The tree on 28 May 2027" in said and "Prune after bloom" in said and "Winter rest" in said
    (bare,) = sheets_of(plan, inputs, wanted)
    assert len(made) > len(sheet_pdf(bare)) + 1000


@pytest.mark.parametrize("data", [b"GIF89a", b"\xff\xd8\xff no picture"])
def test_a_photograph_that_cannot_be_read_keeps_nobody_from_the_sheet(
    inputs: Inputs, plan: Plan, tmp_path: Path, data: bytes
) -> None:
    noted = photographed(tmp_path, data, inputs)
    photo = newest_photograph(tmp_path, noted, "sats-02")
    (sheet,) = sheets_of(plan, noted, SheetsWanted(tree="sats-02"), photo)
    assert len(pages(sheet_pdf(sheet))) == 1


def facts(inputs: Inputs, plan: Plan) -> AwayFacts:
    return away_facts(plan, inputs.collection, inputs.rulebook, inputs.entries, FIRST, LAST)


def test_the_sheet_for_whoever_waters_is_one_page_and_names_what_counts(inputs: Inputs, plan: Plan) -> None:
    found = facts(inputs, plan)
    assert {bench.often for bench in found.benches} == {"daily"}
    assert {tree for bench in found.benches for tree in bench.trees} == {
        t.id for t in inputs.collection.trees
    }
    assert "sats-03" in found.in_bloom and "pine-01" not in found.in_bloom
    (page,) = pages(sheet_pdf(away_sheet(found, "Harbour house trees")))
    page = " ".join(page.split())
    for words in ("While we are away: 5 Jun to 14 Jun 2027", "every morning", "Never feed", "poison", "Vet"):
        assert words in page, words


def test_in_winter_it_is_weekly(inputs: Inputs) -> None:
    parts = (inputs.collection, inputs.entries, inputs.record, inputs.rulebook)
    winter = make_plan(*parts, TODAY.toordinal())
    first = date(2028, 1, 10).toordinal()
    found = away_facts(winter, inputs.collection, inputs.rulebook, inputs.entries, first, first + 13)
    assert "weekly" in {bench.often for bench in found.benches}
    assert found.in_bloom == ()


def test_a_tree_whose_roots_were_worked_is_named(inputs: Inputs, plan: Plan) -> None:
    repotted = Entry(date(2027, 5, 20), "maple-01", did="repot")
    long_ago = Entry(date(2027, 3, 1), "maple-02", did="repot")
    noted = replace(inputs, entries=[*inputs.entries, repotted, long_ago])
    found = facts(noted, plan)
    assert ("maple-01", date(2027, 5, 20).toordinal()) in found.healing
    assert "maple-02" not in dict(found.healing)
    (page,) = pages(sheet_pdf(away_sheet(found, "")))
    assert "maple-01 (20 May)" in " ".join(page.split())


def test_letters_of_many_alphabets_print_and_data_is_never_markup() -> None:
    words = "Bäume ß Łódź *not bold* #eval(1) <script> $x$"
    (page,) = pages(sheet_pdf(PaperSheet("x", "Bäume", "", (text(words),))))
    assert words in page


@pytest.mark.skipif(not known_fonts(), reason="no fonts for it: pip install '.[cjk]'")
def test_japanese_prints() -> None:
    (page,) = pages(sheet_pdf(PaperSheet("x", "皐月 さつき", "", (text("鉢植え"),)), known_fonts()))
    assert "皐月 さつき" in page and "鉢植え" in page


def test_a_letter_that_no_font_has_is_named_and_nothing_is_written(inputs: Inputs, tmp_path: Path) -> None:
    strange = "\U00012000"  # cuneiform: on no ordinary machine
    with pytest.raises(ProblemsFound, match=strange):
        sheet_pdf(PaperSheet("x", strange, "", ()))
    with pytest.raises(ProblemsFound, match="did you mean sats-01"):
        write_sheets(EXAMPLE, inputs, TODAY, SheetsWanted(tree="sats-1"), tmp_path / "out", ())
    with pytest.raises(ProblemsFound, match="--away"):
        backwards = SheetsWanted(away=(date(2027, 6, 14), date(2027, 6, 5)))
        write_sheets(EXAMPLE, inputs, TODAY, backwards, tmp_path / "out", ())
    assert not (tmp_path / "out").exists()


def test_the_same_sheet_is_the_same_bytes_whatever_the_clock_and_the_hash_seed(tmp_path: Path) -> None:
    script = (
        "import sys; from care_planner.show.paper.blocks import *;"
        "from care_planner.show.paper.write_pdf import sheet_pdf;"
        "b = (head('A'), text('B'), Block('ticks', rows=(('a', 'b', 'c', 'd'),)), listed(['x', 'y']));"
        "sys.stdout.buffer.write(sheet_pdf(PaperSheet('n', 'Title ä', 'under', b)))"
    )
    made = set()
    for seed, zone in (("1", "UTC"), ("2", "Asia/Seoul")):
        env = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone}
        made.add(
            subprocess.run([sys.executable, "-c", script], env=env, capture_output=True, check=True).stdout
        )
    assert len(made) == 1 and made.pop().startswith(b"%PDF")


def test_a_picture_without_words_is_refused() -> None:
    """PDF/UA-1 (ISO 14289-1) asks every figure for words; the check is typst's own."""
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"/>'
    assert sheet_pdf(PaperSheet("x", "t", "", (Block("picture", svg, "words"),)))
    with pytest.raises((typst.TypstError, ProblemsFound)):
        sheet_pdf(PaperSheet("x", "", "", (Block("picture", svg, ""),)))


def test_hours(plan: Plan) -> None:
    assert [hours(m) for m in (0, 45, 60, 130)] == ["0 min", "45 min", "1 h", "2 h 10 min"]
    assert week_sheet((), "x", monday(TODAY.toordinal())).blocks[0].text == "No work is planned in this week."
