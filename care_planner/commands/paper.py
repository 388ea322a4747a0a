"""sheets: what hangs on the wall."""

import sys
from datetime import date
from pathlib import Path

import click

from care_planner.commands.tools import (
    MACHINE_FAULT,
    Day,
    echo,
    folder_argument,
    now,
    read,
    say,
    today_option,
    told,
)


@click.command()
@folder_argument
@click.option("--week", type=Day(), help="The week that holds this day.")
@click.option("--tree", help="One tree's year.")
@click.option("--away", type=(Day(), Day()), metavar="FROM TO", help="For whoever waters meanwhile.")
@click.option("--out", type=click.Path(path_type=Path), help="Where to write (default FOLDER/sheets).")
@click.option("--fonts", type=click.Path(path_type=Path, exists=True), help="A folder of more fonts.")
@today_option
def sheets(
    folder: Path,
    week: date | None,
    tree: str | None,
    away: tuple[date, date] | None,
    out: Path | None,
    fonts: Path | None,
    today: date | None,
) -> None:
    """Print the plan: A4 pages as PDF.

    Without an option this week by bench and the whole collection's year.
    """
    with told():
        inputs = read(folder, today)
        from care_planner.show.paper.write_sheets import SheetsWanted, write_sheets

        day, to = today or now(inputs).date(), out or folder / "sheets"
        try:
            lines = write_sheets(
                folder, inputs, day, SheetsWanted(week, tree, away), to, [fonts] if fonts else []
            )
        except ModuleNotFoundError as missing:
            if missing.name != "typst":
                raise
            echo("sheets needs typst: pip install '.[paper]'", err=True)
            sys.exit(MACHINE_FAULT)
        say(lines)
