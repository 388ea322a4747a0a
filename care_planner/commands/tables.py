"""table: a plan out to a spreadsheet."""

from datetime import date
from pathlib import Path
from typing import Literal

import click

from care_planner.commands.tools import folder_argument, now, read, today_option, told

What = Literal["tasks", "stages"]
WHAT: tuple[What, ...] = ("tasks", "stages")


@click.command()
@folder_argument
@click.argument("what", type=click.Choice(WHAT))
@today_option
@click.option("--out", type=click.Path(path_type=Path), help="The calendar to go on from, as for plan.")
def table(folder: Path, what: What, today: date | None, out: Path | None) -> None:
    """Print the plan as CSV, for a spreadsheet; writes nothing.

    The plan is the one that `plan` with the same options would write. WHAT is tasks (a row a dated work,
    walk item or watch) or stages.
    """
    with told():
        inputs = read(folder, today)
        from care_planner.folder.read_previous import read_previous
        from care_planner.plan import plan_with_colours
        from care_planner.show.plan_table import stages_csv, tasks_csv

        day = today or now(inputs).date()
        previous, _ = read_previous(out or folder / "calendar")
        plan = plan_with_colours(
            inputs.collection, inputs.entries, inputs.record, inputs.rulebook, day.toordinal(), previous
        )
        if what == "tasks":
            text = tasks_csv(plan, inputs.collection, inputs.rulebook)
        else:
            text = stages_csv(plan.stages)
        click.echo(text, nl=False)
