"""check, why, learned, frost, rules, colours, cuttings: what only looks."""

import sys
from datetime import date
from pathlib import Path

import click

from care_planner.commands.tools import (
    WRONG_INPUT,
    echo,
    folder_argument,
    here_argument,
    now,
    read,
    today_option,
    told,
)


@click.command()
@here_argument
def check(folder: Path) -> None:
    """Name every mistake in the folder at once, file and line first."""
    with told():
        inputs = read(folder)
        from care_planner.folder.read_basis import read_basis, shrunk_record
        from care_planner.folder.read_identity import read_identity
        from care_planner.problems import ProblemsFound
        from care_planner.show.record import record_lines
        from care_planner.show.wrapping import wrapped
        from care_planner.words.bare_kinds import bare_kinds
        from care_planner.years.common import usable_weather_years

        years = usable_weather_years(inputs.collection, inputs.record)
        shrunk = shrunk_record(read_basis(folder / "calendar"), years, "weather")
        _, damaged = read_identity(folder)
        if shrunk or damaged:
            raise ProblemsFound([*damaged, *shrunk])
        for line in record_lines(inputs, now(inputs).date().toordinal()):
            echo(line)
        held = f"{_count(len(inputs.collection.trees), 'tree')} and {_count(len(inputs.entries), 'note')}"
        for line in wrapped(f"{folder}: no mistakes in {held}"):
            echo(line)
        bare = bare_kinds((tree.taxon for tree in inputs.collection.trees), inputs.rulebook)
        for message in (*bare, *(f"weather: {note}" for note in inputs.record.notes), *inputs.messages):
            for line in wrapped(message):
                echo(line)


@click.command()
@folder_argument
@click.argument("tree")
@click.argument("task", required=False)
@today_option
def why(folder: Path, tree: str, task: str | None, today: date | None) -> None:
    """Why a work stands where it stands, or does not come.

    TASK is a rule's id such as prune-after-bloom, or its title. Without it: the works of the tree.
    """
    with told():
        inputs = read(folder, today)
        from care_planner.folder.read_previous import read_previous
        from care_planner.show.why import why_lines, works_lines

        day = (today or now(inputs).date()).toordinal()
        previous, _ = read_previous(folder / "calendar")
        lines = works_lines(inputs, tree, day, previous)
        if task is not None:
            lines = why_lines(inputs, tree, task, day, previous)
        for line in lines:
            echo(line)


@click.command()
@folder_argument
@click.argument("tree", required=False)
@today_option
def learned(folder: Path, tree: str | None, today: date | None) -> None:
    """What the notes teach of each tree's pace.

    Early or late by how many days, from how many notes, how sure; and notes that do not fit the rest. With
    TREE, note by note.
    """
    with told():
        inputs = read(folder, today)
        from care_planner.show.learned import learned_lines

        for line in learned_lines(inputs, tree, (today or now(inputs).date()).toordinal()):
            echo(line)


@click.command()
@here_argument
def frost(folder: Path) -> None:
    """Last and first cold nights on each bench.

    At or under the limits that the plan uses, with 1, 10, 50 and 90 % and the winters behind them.
    """
    with told():
        inputs = read(folder)
        from care_planner.show.frost import frost_lines

        for line in frost_lines(inputs, now(inputs).date().toordinal()):
            echo(line)


@click.command()
@click.argument("folder", required=False, type=click.Path(path_type=Path))
def rules(folder: Path | None) -> None:
    """The rules in force, and their own examples.

    Says where each rule comes from and runs the packs' examples as checks.
    """
    with told():
        from care_planner.problems import ProblemsFound
        from care_planner.rulebook.read_packs import read_rulebook
        from care_planner.show.rules import rule_lines

        taxa = None
        if folder is not None:
            taxa = {tree.taxon for tree in read(folder).collection.trees}
        rulebook, problems = read_rulebook(folder / "rules" if folder else None, taxa)
        if problems:
            raise ProblemsFound(problems)
        failed = False
        for line, bad in rule_lines(rulebook):
            echo(line)
            failed = failed or bad
        if failed:
            sys.exit(WRONG_INPUT)


@click.command()
@folder_argument
@click.argument("tree", required=False)
@today_option
@click.option("--numbers", is_flag=True, help="Show the numbers behind the words.")
@click.option("--terms", is_flag=True, help="Show the Japanese terms of the forms.")
def colours(folder: Path, tree: str | None, today: date | None, numbers: bool, terms: bool) -> None:
    """Show which branch bore which flowers, and what to do.

    A table a tree; where there are many trees a line each, and the table of TREE.
    """
    with told():
        inputs = read(folder, today)
        from care_planner.show.colour_words import Style
        from care_planner.show.colours import colour_lines

        day = (today or now(inputs).date()).toordinal()
        for line in colour_lines(inputs, tree, day, Style(numbers, terms)):
            echo(line)


@click.command()
@folder_argument
@today_option
@click.option("--want", type=click.IntRange(1, 50), default=1, help="Plants that shall keep the range.")
@click.option(
    "--risk",
    type=click.FloatRange(0.001, 0.5),
    help="Accepted risk (0.1 is one in ten; the collection's own where not given).",
)
@click.option("--numbers", is_flag=True, help="Show the numbers behind the words.")
def cuttings(folder: Path, today: date | None, want: int, risk: float | None, numbers: bool) -> None:
    """Show which cuttings to take, and how many.

    And which young plants to keep, to grow on or to give away.
    """
    with told():
        inputs = read(folder, today)
        from care_planner.show.colour_words import Style
        from care_planner.show.cuttings import cutting_lines

        day = (today or now(inputs).date()).toordinal()
        for line in cutting_lines(inputs, want, risk, day, Style(numbers)):
            echo(line)


def _count(number: int, name: str) -> str:
    return f"{number} {name if number == 1 else name + 's'}"
