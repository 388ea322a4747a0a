"""Sheets as PDF: A4, tagged, the same bytes for the same sheet and the same fonts."""

import json
from collections.abc import Sequence
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

from care_planner.problems import Problem, ProblemsFound
from care_planner.show.paper.blocks import PaperSheet, as_data

NO_IMAGE = "failed to decode image"
MISSING = "could not be displayed"


def sheet_pdf(sheet: PaperSheet, fonts: Sequence[Path] = ()) -> bytes:
    """The sheet as a PDF/UA-1 document, in the fonts that typst brings and those found in `fonts`.

    Only where they lack a letter those of the machine are taken too. Raises ProblemsFound, with the letter,
    where none has it, since a box in its place would be a wrong name on a label; ModuleNotFoundError without
    typst.
    """
    import typst

    source = files("care_planner.show.paper").joinpath("sheets.typ").read_bytes()
    data = {"sheet": json.dumps(as_data(sheet), ensure_ascii=False, sort_keys=True)}
    fault: typst.TypstError | None = None
    for only_own in (True, False):
        try:
            made: bytes = typst.compile(  # type: ignore[misc]
                source,
                sys_inputs=data,
                pdf_standards=["ua-1"],
                font_paths=list(map(str, fonts)),
                ignore_system_fonts=only_own,
            )
            return made
        except typst.TypstError as found:
            fault = found
            if NO_IMAGE in found.message and any(block.photo for block in sheet.blocks):
                # A photograph that cannot be read keeps nobody from the sheet.
                blocks = tuple(replace(block, photo=b"") for block in sheet.blocks)
                return sheet_pdf(replace(sheet, blocks=blocks), fonts)
            if MISSING not in found.message:
                raise
    assert fault is not None
    letter = fault.message.split("`")[1] if fault.message.count("`") > 1 else "a letter"
    what = f"{sheet.name}: no font here can print {letter}"
    raise ProblemsFound(
        [Problem("sheets", 0, what, "pip install '.[cjk]', or give a folder of fonts: --fonts FOLDER")]
    )


def known_fonts() -> list[Path]:
    """Folders of the font packages that are installed beside this program."""
    try:
        found = files("justmytype_intl_cjk").joinpath("fonts")
    except ModuleNotFoundError:
        return []
    return [found] if isinstance(found, Path) else []
