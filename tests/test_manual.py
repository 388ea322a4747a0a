"""The manual: every page is shipped, listed and printed, and names commands and options that there are."""

import importlib.util
import re
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from care_planner.cli import main
from care_planner.folder.read_manual import PAGES, read_manual

_SPEC = importlib.util.spec_from_file_location("figures", Path(__file__).parent / "benchmarks" / "figures.py")
assert _SPEC is not None and _SPEC.loader is not None
figures = importlib.util.module_from_spec(_SPEC)
sys.modules["figures"] = figures
_SPEC.loader.exec_module(figures)

FOLDER = Path(__file__).parents[1] / "care_planner" / "manual"
README = Path(__file__).parents[1] / "README.md"
TEXTS = {**{page: read_manual(page) for page in PAGES}, "README": README.read_text(encoding="utf-8")}


def test_the_pages_listed_are_the_pages_shipped() -> None:
    assert sorted(PAGES) == sorted(path.stem for path in FOLDER.glob("*.md"))


def test_the_contents_and_a_page_are_printed() -> None:
    contents = CliRunner().invoke(main, ["manual"])
    assert contents.exit_code == 0
    assert [line.split()[0] for line in contents.output.splitlines()] == list(PAGES)
    assert CliRunner().invoke(main, ["manual", "journal"]).output == read_manual("journal")
    wrong = CliRunner().invoke(main, ["manual", "jornal"])
    assert wrong.exit_code == 2 and "did you mean journal?" in wrong.output


@pytest.mark.parametrize("page", TEXTS)
def test_commands_and_options_named_exist(page: str) -> None:
    unknown = [f"{name} {option}".strip() for name, option in named(TEXTS[page]) if not exists(name, option)]
    assert unknown == []


def test_a_command_that_is_not_there_is_found() -> None:
    assert list(named("run `care-planner paint x --all`")) == [("paint", ""), ("paint", "--all")]
    assert not exists("paint", "") and not exists("plan", "--nosuch") and exists("plan", "--today")


def test_the_page_of_figures_is_what_its_commands_made() -> None:
    kept = figures.read_kept(figures.PAGE)
    assert set(kept) == {section.shown for section in figures.SECTIONS}
    assert figures.page_text(kept) == figures.PAGE.read_text(encoding="utf-8")
    assert [command for command, output in kept.items() if "not measured" in output] == []
    assert all(re.match(r"# \d{4}-\d\d-\d\d, \S+, Python 3", output) for output in kept.values())


in_text = figures.figures_in_text


@pytest.mark.parametrize("figure", in_text.FIGURES, ids=lambda figure: figure.sentence[:40])
def test_a_figure_in_a_sentence_is_what_its_command_makes(figure: Any) -> None:
    text = figure.page.read_text(encoding="utf-8")
    assert in_text.rewritten(text, figure) == text, "run tests/benchmarks/figures.py sentences"
    assert in_text.rewritten(re.sub(r"\d", "7", text), figure) != re.sub(r"\d", "7", text)


@pytest.mark.parametrize("page", in_text.PAGES, ids=lambda page: page.stem)
def test_no_other_number_stands_in_the_text(page: Path) -> None:
    assert list(in_text.numbers_left(page, page.read_text(encoding="utf-8"))) == []


def test_a_number_that_nothing_makes_is_found() -> None:
    text = "Plans take 19.9 s.\n\n```text\n3 s\n```\nA4 pages, `5 s`; 7 % of trees\n"
    assert list(in_text.numbers_left(README, text)) == ["Plans take 19.9 s.", ", ; 7 % of trees"]


def test_the_weekend_in_the_readme_is_the_feeds() -> None:
    shown = in_text.weekend_shown(README.read_text(encoding="utf-8"))
    assert shown == in_text.weekend_lines(), "run tests/benchmarks/figures.py sentences"


def named(text: str):  # type: ignore[no-untyped-def]
    """Commands of care-planner that a text names, each with every option in the same code."""
    for code in re.findall(r"`([^`\n]+)`|^\s*((?:\$ )?care-planner [^\n]+)", text, re.MULTILINE):
        found = re.match(r"(?:\$ )?care-planner ([a-z]+)\b(.*)", "".join(code))
        if found:
            yield found[1], ""
            yield from ((found[1], option) for option in re.findall(r"(?<!\S)--[a-z-]+", found[2]))


def exists(name: str, option: str) -> bool:
    command = main.commands.get(name)
    if command is None:
        return False
    within = [command, *getattr(command, "commands", {}).values()]
    return not option or any(option in p.opts for one in within for p in one.params)
