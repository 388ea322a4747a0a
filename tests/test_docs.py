"""The README and DEVELOPERS.md say what is so: their YAML is read, their commands run, their paths exist."""

import re
import shutil
import tomllib
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import get_args

import pytest
from click.testing import CliRunner
from pydantic import BaseModel

from care_planner.cli import main
from care_planner.collection.model import Collection
from care_planner.collection.site import Bench, Site
from care_planner.collection.tree import LastRepot, Pot, Tree
from care_planner.folder.read_folder import read_folder
from care_planner.plan import make_plan
from care_planner.problems import Problem
from care_planner.rulebook.moment import KINDS
from care_planner.rulebook.read_packs import read_rulebook
from care_planner.rulebook.rule import WORK_KINDS
from care_planner.rulebook.taxon import Stage
from care_planner.tools.run_examples import run_examples
from care_planner.typed_yaml.read_yaml import parse_yaml, validate
from care_planner.words.chains import why_lines_of
from care_planner.years.outcome import State

PROJECT = Path(__file__).parents[1]
README, DEVELOPERS = PROJECT / "README.md", PROJECT / "DEVELOPERS.md"
MANUAL = sorted((PROJECT / "care_planner" / "manual").glob("*.md"))
PAGES = sorted(PROJECT.glob("*.md")) + sorted(PROJECT.glob("*/*.md")) + MANUAL
GROWERS_PAGES = (README, *MANUAL)
FENCE = re.compile(r"^ *```(\w*)\n(.*?)^ *```$", re.MULTILINE | re.DOTALL)
LEFT_OUT = "..."


def blocks(page: Path, language: str) -> list[str]:
    """The texts of a page's code blocks in one language."""
    return [text for found, text in FENCE.findall(page.read_text(encoding="utf-8")) if found == language]


def yaml_block(pages: Path | tuple[Path, ...], first_line: str) -> str:
    """The one YAML block of some pages that starts with this comment."""
    each = (pages,) if isinstance(pages, Path) else pages
    found = [block for page in each for block in blocks(page, "yaml")]
    (text,) = (block for block in found if block.startswith(f"# {first_line}\n"))
    return text


def not_said(block: str, output: str) -> str | None:
    """The first line of a block that the output does not have, in order; None where it has them all."""
    lines = iter(output.splitlines())
    return next((line for line in block.splitlines() if line != LEFT_OUT and line not in lines), None)


COMMANDS = [block.split("\n", 1) for page in GROWERS_PAGES for block in blocks(page, "console")]


@pytest.mark.parametrize(("command", "shown"), COMMANDS, ids=[command for command, _ in COMMANDS])
def test_the_output_shown_is_that_of_the_command(
    command: str, shown: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # A copy: what somebody published beside the example has a say in its next plan.
    example = Path("examples") / "gangneung"
    shutil.copytree(PROJECT / example, tmp_path / example, ignore=shutil.ignore_patterns("calendar"))
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(main, command.removeprefix("$ care-planner ").split())
    assert done.exit_code == 0, done.output
    assert not_said(shown, done.output) is None


def test_a_line_that_is_not_printed_is_found() -> None:
    printed = "one\ntwo\nthree\n"
    assert not_said("one\n...\nthree\n", printed) is None
    assert not_said("one\nfour\n", printed) == "four"
    assert not_said("two\none\n", printed) == "one"


def test_the_collection_of_the_readme_reads_without_a_mistake(tmp_path: Path) -> None:
    for name in ("collection.yaml", "journal/2027.yaml", "rules/own.yaml"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(yaml_block(GROWERS_PAGES, name), encoding="utf-8")
    shutil.copy(PROJECT / "examples" / "gangneung" / "weather.csv.gz", tmp_path / "weather.csv.gz")
    inputs = read_folder(tmp_path, date(2028, 1, 1))
    assert (
        len(inputs.collection.trees) == 1
        and len([e for e in inputs.entries if e.file.startswith("journal")]) == 10
    )
    rules = inputs.rulebook.taxa["satsuki-azalea"]
    assert "weevil-night-look" not in rules.rules and rules.rules["shelter"].minutes.small == 10
    assert [result for result in run_examples(rules) if result.fault] == []


@pytest.mark.parametrize("model", [Collection, Site, Bench, Tree, LastRepot, Pot])
def test_the_readme_shows_every_key(model: type[BaseModel]) -> None:
    text = yaml_block(GROWERS_PAGES, "collection.yaml")
    assert [key for key in model.model_fields if not re.search(rf"\b{key}:", text)] == []


def test_the_rule_of_the_developers_page_works(tmp_path: Path) -> None:
    rule = yaml_block(DEVELOPERS, "a rule of a pack")
    (tmp_path / "own.yaml").write_text(f"lays_over: container-tree\nrules:\n{rule}", encoding="utf-8")
    rulebook, problems = read_rulebook(tmp_path, ["japanese-maple"])
    assert problems == []
    results = [r for r in run_examples(rulebook.taxa["japanese-maple"]) if r.rule == "turn-pots"]
    assert len(results) == 2 and not any(result.fault for result in results)


def test_a_new_taxon_needs_no_python(tmp_path: Path) -> None:
    shutil.copytree(PROJECT / "examples" / "gangneung", tmp_path / "trees")
    own = tmp_path / "trees" / "rules"
    own.mkdir()
    (own / "chinese-elm.yaml").write_text(yaml_block(DEVELOPERS, "a taxon's pack"), encoding="utf-8")
    collection = tmp_path / "trees" / "collection.yaml"
    text = collection.read_text(encoding="utf-8").split("trees:\n")[0]
    tree = "{id: elm-01, taxon: chinese-elm, bench: open, age: established, condition: strong}"
    collection.write_text(f"{text}trees:\n  - {tree}\n", encoding="utf-8")
    today = date(2027, 3, 1)
    inputs = read_folder(tmp_path / "trees", today)
    assert [r for r in run_examples(inputs.rulebook.taxa["chinese-elm"]) if r.fault] == []
    plan = make_plan(inputs.collection, [], inputs.record, inputs.rulebook, today.toordinal())
    cuts = [task for task in plan.tasks if (task.rule, task.season) == ("shorten-shoots", 2027)]
    assert len(cuts) > 1 and cuts[0].window.opens is not None and today.toordinal() < cuts[0].day
    assert "Rule: shorten-shoots of the pack chinese-elm. Source: made up for this page" in why_lines_of(
        cuts[0]
    )


def test_the_flowering_taxon_of_the_developers_page_works(tmp_path: Path) -> None:
    (tmp_path / "crab-apple.yaml").write_text(
        yaml_block(DEVELOPERS, "a flowering taxon's pack"), encoding="utf-8"
    )
    rulebook, problems = read_rulebook(tmp_path, ["crab-apple"])
    assert problems == []
    results = [
        r
        for r in run_examples(rulebook.taxa["crab-apple"])
        if r.rule in ("thin-young-fruit", "take-buds-off")
    ]
    assert len(results) == 4 and [result for result in results if result.fault] == []


def test_the_stage_of_the_developers_page_is_one() -> None:
    text = yaml_block(DEVELOPERS, "a stage of a pack").replace("- id:", "  id:", 1)
    located, problems = parse_yaml(text, "stage.yaml")
    assert located is not None and problems == []
    stage, faults = validate(located, Stage)
    assert faults == [] and stage is not None and stage.reached.kind == "warmth"


def paths_named(page: Path) -> Iterator[str]:
    """Paths in back-ticks or links that are the project's, not the reader's."""
    text = FENCE.sub("", page.read_text(encoding="utf-8"))
    for path in re.findall(r"`([\w./-]+)`", text):
        if re.match(r"\.ci/|(care_planner|tests|examples)/|rules/TABLE", path):
            yield path
        elif path.endswith((".py", "/")) and (PROJECT / "care_planner" / path.split("/")[0]).exists():
            yield f"care_planner/{path}"
    yield from (path for path in re.findall(r"\]\(([^)#:]+)\)", text))


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(PROJECT).as_posix())
def test_paths_that_a_page_names_exist(page: Path) -> None:
    missing = [p for p in paths_named(page) if not (PROJECT / p).exists() and not (page.parent / p).exists()]
    assert missing == []


def test_modules_that_are_run_by_name_exist() -> None:
    named = {
        name for page in PAGES for name in re.findall(r"python -m (care_planner\.[\w.]+)", page.read_text())
    }
    assert len(named) == 4
    assert [name for name in named if not (PROJECT / f"{name.replace('.', '/')}.py").exists()] == []


def test_the_words_of_the_developers_page_are_those_of_the_code() -> None:
    text = DEVELOPERS.read_text(encoding="utf-8")
    assert [kind for kind in KINDS if f"`{kind}`" not in text] == []
    assert f"# {', '.join(WORK_KINDS)}\n" in text
    assert f"{', '.join(get_args(State))} | - |" in text


def test_every_library_has_its_reason() -> None:
    project = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    text = DEVELOPERS.read_text(encoding="utf-8")
    names = [re.split("[<>=]", needed)[0] for needed in project["dependencies"]]
    assert names and [name for name in names if f"**{name}**" not in text] == []


def test_a_mistake_is_shown_as_it_is_printed() -> None:
    (shown,) = (block for block in blocks(README, "text") if block.lstrip().startswith("collection.yaml:"))
    problems = [
        Problem("collection.yaml", 55, "bench 'opne' is unknown", "did you mean open?"),
        Problem("collection.yaml", 55, "unknown key 'gaol'", "did you mean goal?"),
    ]
    assert [line.strip() for line in shown.splitlines()] == [str(problem) for problem in problems]


def test_two_commands_set_everything_up() -> None:
    set_up, test = blocks(README, "sh")
    assert set_up.count("\n") == test.count("\n") == 1
    assert set_up.startswith("python3 -m venv .venv && .venv/bin/pip install -q '.[test]' && ")
    assert test.startswith(".venv/bin/python -m pytest")
